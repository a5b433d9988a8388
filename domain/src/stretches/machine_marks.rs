//! All marks that the hours of one machine are computed from, put together from their rows.

use super::day_marks::{DownMark, LayerMarks, Ordered, ReadingMark, SpanMark, StateMark};
use super::people_marks::{CountedMark, PalletMark, RunAct, RunMark, WorkMark};
use super::{DayMarks, Mark, RowKey, Source, by_row};
use crate::ids::{CellId, MachineId, PalletId, Track};
use crate::time::Timestamp;
use std::collections::{BTreeMap, BTreeSet};

/// Sorted marks; `source` of a mark is its position in `sources`, which are sorted by seq and name each entry once.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct MachineMarks {
    pub sources: Vec<Source>,
    pub signals: Vec<StateMark>,
    pub cycles: Vec<SpanMark>,
    pub covers: Vec<SpanMark>,
    pub downs: Vec<DownMark>,
    pub readings: Vec<ReadingMark>,
    pub runs: Vec<RunMark>,
    pub counted: Vec<CountedMark>,
    /// Of the machine's cell.
    pub work: Vec<WorkMark>,
    /// In the order of their ids; none without marks.
    pub pallets: Vec<PalletMarks>,
    /// Whose marks these are, and in which cell; `None` where there are no pallets.
    pub place: Option<(MachineId, CellId)>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PalletMarks {
    pub pallet: PalletId,
    pub marks: Vec<PalletMark>,
}

impl MachineMarks {
    /// Puts the rows of a machine together, which may come in any order; rows in the order of their days need no sorting.
    pub fn from_rows(rows: impl IntoIterator<Item = DayMarks>) -> Self {
        // Without pallets no track needs a name.
        let nobody = Track(uuid::Uuid::nil());
        let rows: Vec<_> = rows.into_iter().map(|row| (nobody, row)).collect();
        Self::put_together(rows)
    }

    /// The same of a machine in a cell with pallets: rows of the machine, of the cell and of its pallets.
    pub fn of_machine(
        machine: MachineId,
        cell: CellId,
        rows: impl IntoIterator<Item = (Track, DayMarks)>,
    ) -> Self {
        let mut all = Self::put_together(rows.into_iter().collect());
        all.place = Some((machine, cell));
        all
    }

    fn put_together(rows: Vec<(Track, DayMarks)>) -> Self {
        let sources = rows.iter().flat_map(|(_, row)| row.sources.iter().copied());
        let mut sources: Vec<_> = sources.collect();
        sources.sort_by_key(|source| source.seq);
        sources.dedup_by_key(|source| source.seq);
        let mut all = Self {
            sources,
            ..Self::default()
        };
        let mut spans = Vec::new();
        let mut pallets = BTreeMap::<Track, Vec<PalletMark>>::new();
        for (track, row) in rows {
            let positions = all.positions_of(&row.sources);
            match row.marks {
                LayerMarks::Signals(marks) => append(&mut all.signals, marks, &positions),
                LayerMarks::Cycles(marks) => append(&mut spans, marks, &positions),
                LayerMarks::Downs(marks) => append(&mut all.downs, marks, &positions),
                LayerMarks::Readings(marks) => append(&mut all.readings, marks, &positions),
                LayerMarks::Runs(marks) => append(&mut all.runs, marks, &positions),
                LayerMarks::Counted(marks) => append(&mut all.counted, marks, &positions),
                // A job's rows are nobody's time.
                LayerMarks::Jobs(_) => {}
                LayerMarks::Work(marks) => append(&mut all.work, marks, &positions),
                LayerMarks::Pallets(marks) => append(pallets.entry(track).or_default(), marks, &positions),
            }
        }
        sort(&mut all.signals);
        sort(&mut spans);
        sort(&mut all.downs);
        sort(&mut all.readings);
        sort(&mut all.runs);
        without_void(&mut all.runs);
        sort(&mut all.counted);
        sort(&mut all.work);
        (all.cycles, all.covers) = spans.into_iter().partition(|span| span.is_cycle);
        let pallets = pallets.into_iter().filter(|(_, marks)| !marks.is_empty());
        let pallet = |(track, mut marks): (Track, Vec<PalletMark>)| {
            sort(&mut marks);
            PalletMarks {
                pallet: PalletId(track.0),
                marks,
            }
        };
        all.pallets = pallets.map(pallet).collect();
        all
    }

    /// The marks of entries that are in no store, in the order of their seq: a log file, or a test.
    pub fn from_entries(entries: impl IntoIterator<Item = (Source, Vec<Mark>)>) -> Self {
        let nobody = Track(uuid::Uuid::nil());
        let entries = entries.into_iter();
        let on_no_track = |(source, marks): (Source, Vec<Mark>)| {
            let marks = marks.into_iter().map(|mark| (nobody, mark)).collect();
            (source, marks)
        };
        Self::put_together(rows_of(entries.map(on_no_track)))
    }

    /// The same with the tracks of a machine, its cell and its pallets.
    pub fn of_entries(
        machine: MachineId,
        cell: CellId,
        entries: impl IntoIterator<Item = (Source, Vec<(Track, Mark)>)>,
    ) -> Self {
        Self::of_machine(machine, cell, rows_of(entries))
    }

    pub fn marks_of_pallet(&self, pallet: PalletId) -> &[PalletMark] {
        let position = self.pallets.binary_search_by_key(&pallet, |one| one.pallet);
        position.map_or(&[], |position| &self.pallets[position].marks)
    }

    /// A run that began before this instant has no end that anybody told: what is said of it later may reach back.
    pub fn waits_for_an_end(&self, before: Timestamp) -> bool {
        let ended = self
            .runs
            .iter()
            .filter(|mark| matches!(mark.act, RunAct::Ended { .. }));
        let ended: BTreeSet<_> = ended.map(|mark| mark.run).collect();
        let begun = self.runs.iter().take_while(|mark| mark.at < before);
        begun.map(|mark| mark.run).any(|run| !ended.contains(&run))
    }

    fn positions_of(&self, sources: &[Source]) -> Vec<u32> {
        let position = |source: &Source| self.sources.partition_point(|known| known.seq < source.seq);
        sources
            .iter()
            .map(|source| u32::try_from(position(source)).unwrap_or(u32::MAX))
            .collect()
    }
}

fn rows_of(entries: impl IntoIterator<Item = (Source, Vec<(Track, Mark)>)>) -> Vec<(Track, DayMarks)> {
    let mut rows = BTreeMap::<RowKey, DayMarks>::new();
    for (source, marks) in entries {
        for (row, marks) in by_row(marks) {
            rows.entry(row)
                .or_insert_with(|| DayMarks::new(row.1))
                .merge(source, &marks);
        }
    }
    rows.into_iter().map(|(key, marks)| (key.0, marks)).collect()
}

/// The marks that a later one of the same run and instant makes void.
pub(super) fn without_void(runs: &mut Vec<RunMark>) {
    let is_withdrawn = |mark: &RunMark| mark.act == RunAct::Withdrawn;
    if !runs.iter().any(is_withdrawn) {
        return;
    }
    // What was withdrawn last, at each instant of each run.
    let void: BTreeMap<_, _> = runs
        .iter()
        .filter(|mark| is_withdrawn(mark))
        .map(|mark| ((mark.at, mark.run), mark.source))
        .collect();
    runs.retain(|mark| {
        let until = void.get(&(mark.at, mark.run));
        until.is_none_or(|until| mark.source > *until || (mark.source == *until && is_withdrawn(mark)))
    });
}

fn append<M: Ordered>(all: &mut Vec<M>, mut marks: Vec<M>, positions: &[u32]) {
    for mark in &mut marks {
        let source = mark.source_mut();
        // A row's marks point into its own sources: this was checked when the row was read or made.
        *source = usize::try_from(*source)
            .ok()
            .and_then(|at| positions.get(at))
            .copied()
            .unwrap_or(u32::MAX);
    }
    if all.is_empty() {
        *all = marks;
    } else {
        all.append(&mut marks);
    }
}

fn sort<M: Ordered>(marks: &mut [M]) {
    if !marks.is_sorted_by_key(Ordered::key) {
        marks.sort_by_key(Ordered::key);
    }
}
