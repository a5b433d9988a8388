//! The rows that a batch of commands touches, held in memory while it is decided; a rebuild holds them all.

use super::{
    CountedMark, DayMarks, Layer, LayerMarks, Mark, Merged, ReadingMark, RunAct, Source, StateMark, by_row,
};
use crate::entry::EntryMeta;
use crate::ids::{MachineId, RunId, Track};
use crate::machine::Reading;
use crate::machine_state::MachineState;
use crate::pool::PalletState;
use crate::time::Timestamp;
use std::collections::{BTreeMap, BTreeSet};

/// The key of a stored row: (track, layer, UTC day).
pub type RowKey = (Track, Layer, i64);

#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct StretchDays {
    rows: BTreeMap<RowKey, DayMarks>,
    is_whole: bool,
}

/// Marks were to be laid into a row of which it is not known what stands in it: it would have been overwritten.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("the marks of track {}, layer {:?}, UTC day {} were not read before they were changed", .0.0, .0.1, .0.2)]
pub struct NotLoaded(pub RowKey);

impl StretchDays {
    /// Of a ledger from its first entry on: a row that is not here does not exist.
    pub fn whole() -> Self {
        Self {
            is_whole: true,
            ..Self::default()
        }
    }

    /// What the store has of a row; empty marks where it has none.
    pub fn insert(&mut self, key: RowKey, marks: DayMarks) {
        self.rows.insert(key, marks);
    }

    pub fn get(&self, key: &RowKey) -> Option<&DayMarks> {
        self.rows.get(key)
    }

    pub fn iter(&self) -> impl Iterator<Item = (&RowKey, &DayMarks)> {
        self.rows.iter()
    }

    /// Folds the marks of one entry in and tells which rows they changed. Where a row is not loaded, none is changed.
    pub fn apply_marks(
        &mut self,
        marks: Vec<(Track, Mark)>,
        meta: &EntryMeta,
    ) -> Result<Vec<RowKey>, NotLoaded> {
        let source = Source {
            seq: meta.seq,
            recorded_at: meta.recorded_at,
        };
        let rows = by_row(marks);
        let is_missing = |key: &&RowKey| !self.is_whole && !self.rows.contains_key(key);
        if let Some(missing) = rows.keys().find(is_missing) {
            return Err(NotLoaded(*missing));
        }
        let mut changed = Vec::new();
        for (key, marks) in rows {
            let row = self.rows.entry(key).or_insert_with(|| DayMarks::new(key.1));
            let Merged { added, .. } = row.merge(source, &marks);
            if added > 0 {
                changed.push(key);
            }
        }
        Ok(changed)
    }

    /// All that is held of one layer of a track, in the order of the days.
    pub fn rows_of(&self, track: Track, layer: Layer) -> impl Iterator<Item = &DayMarks> {
        let days = (track, layer, i64::MIN)..=(track, layer, i64::MAX);
        self.rows.range(days).map(|(_, row)| row)
    }

    /// Whether this very reading stands on its day.
    pub fn has_reading(&self, machine: MachineId, reading: &Reading) -> bool {
        let day = self.get(&(machine.into(), Layer::Readings, reading.at.utc_day()));
        let said = |mark: &ReadingMark| {
            mark.at == reading.at
                && i64::try_from(reading.powered_on_s) == Ok(mark.powered_on_s)
                && i64::try_from(reading.in_cut_s) == Ok(mark.in_cut_s)
                && mark.reset == reading.reset
        };
        day.is_some_and(|day| day.readings().iter().any(said))
    }

    /// What is known of the machine's states on the days of these rows, in the order of time.
    pub fn states_near(&self, machine: MachineId, rows: &[(Timestamp, MachineState)]) -> Vec<StateMark> {
        let days: BTreeSet<_> = rows.iter().map(|(at, _)| at.utc_day()).collect();
        let known = days
            .iter()
            .filter_map(|day| self.get(&(machine.into(), Layer::Signals, *day)));
        known.flat_map(|day| day.states().iter().copied()).collect()
    }
}

impl DayMarks {
    /// When something was said of runs that stands.
    pub fn run_instants(&self) -> Vec<Timestamp> {
        match &self.marks {
            LayerMarks::Runs(runs) => {
                let mut runs = runs.clone();
                super::machine_marks::without_void(&mut runs);
                let standing = runs.iter().filter(|mark| mark.act != RunAct::Withdrawn);
                standing.map(|mark| mark.at).collect()
            }
            _ => Vec::new(),
        }
    }

    /// The states that stand, each from its instant on.
    pub fn pallet_states(&self) -> Vec<(Timestamp, PalletState)> {
        let LayerMarks::Pallets(marks) = &self.marks else {
            return Vec::new();
        };
        let mut standing = BTreeMap::new();
        for mark in marks {
            standing.insert(mark.at, mark.state);
        }
        standing.into_iter().collect()
    }

    /// What was said last of the pieces of a run.
    pub fn newest_counted(&self, run: RunId) -> Option<CountedMark> {
        match &self.marks {
            LayerMarks::Counted(counted) => {
                let of_run = counted.iter().filter(|mark| mark.run == run);
                of_run.max_by_key(|mark| mark.source).copied()
            }
            _ => None,
        }
    }

    fn readings(&self) -> &[ReadingMark] {
        match &self.marks {
            LayerMarks::Readings(readings) => readings,
            _ => &[],
        }
    }

    fn states(&self) -> &[StateMark] {
        match &self.marks {
            LayerMarks::Signals(states) => states,
            _ => &[],
        }
    }
}
