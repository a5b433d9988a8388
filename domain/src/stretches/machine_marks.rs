//! The marks of one machine, put together from its rows: all that hours are computed from.

use super::day_marks::{DownMark, LayerMarks, Ordered, ReadingMark, SpanMark, StateMark};
use super::{DayMarks, Layer, Mark, Source, by_row};
use std::collections::BTreeMap;

/// Sorted marks; `source` of a mark is its position in `sources`, which are sorted by seq and name each entry once.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct MachineMarks {
    pub sources: Vec<Source>,
    pub signals: Vec<StateMark>,
    pub cycles: Vec<SpanMark>,
    pub covers: Vec<SpanMark>,
    pub downs: Vec<DownMark>,
    pub readings: Vec<ReadingMark>,
}

impl MachineMarks {
    /// Puts rows together, which may come in any order; rows in the order of their days need no sorting.
    pub fn from_rows(rows: impl IntoIterator<Item = DayMarks>) -> Self {
        let rows: Vec<_> = rows.into_iter().collect();
        let mut sources: Vec<_> = rows.iter().flat_map(|row| row.sources.iter().copied()).collect();
        sources.sort_by_key(|source| source.seq);
        sources.dedup_by_key(|source| source.seq);
        let mut all = Self {
            sources,
            ..Self::default()
        };
        let mut spans = Vec::new();
        for row in rows {
            let positions = all.positions_of(&row.sources);
            match row.marks {
                LayerMarks::Signals(marks) => append(&mut all.signals, marks, &positions),
                LayerMarks::Cycles(marks) => append(&mut spans, marks, &positions),
                LayerMarks::Downs(marks) => append(&mut all.downs, marks, &positions),
                LayerMarks::Readings(marks) => append(&mut all.readings, marks, &positions),
            }
        }
        sort(&mut all.signals);
        sort(&mut spans);
        sort(&mut all.downs);
        sort(&mut all.readings);
        (all.cycles, all.covers) = spans.into_iter().partition(|span| span.is_cycle);
        all
    }

    /// The marks of entries that are in no store, in the order of their seq: a log file, or a test.
    pub fn from_entries(entries: impl IntoIterator<Item = (Source, Vec<Mark>)>) -> Self {
        let mut rows = BTreeMap::<(Layer, i64), DayMarks>::new();
        for (source, marks) in entries {
            for (row, marks) in by_row(marks) {
                rows.entry(row)
                    .or_insert_with(|| DayMarks::new(row.0))
                    .merge(source, &marks);
            }
        }
        Self::from_rows(rows.into_values())
    }

    fn positions_of(&self, sources: &[Source]) -> Vec<u32> {
        let position = |source: &Source| self.sources.partition_point(|known| known.seq < source.seq);
        sources
            .iter()
            .map(|source| u32::try_from(position(source)).unwrap_or(u32::MAX))
            .collect()
    }
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
