//! The rows that a batch of commands touches, held in memory while it is decided; a rebuild holds them all.

use super::{DayMarks, Layer, LayerMarks, Merged, ReadingMark, Source, StateMark, by_row};
use crate::entry::EntryMeta;
use crate::event::Event;
use crate::ids::MachineId;
use crate::machine::{Reading, marks_of};
use crate::machine_state::MachineState;
use crate::time::Timestamp;
use std::collections::{BTreeMap, BTreeSet};

/// The key of a stored row: (machine, layer, UTC day).
pub type RowKey = (MachineId, Layer, i64);

#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct StretchDays(BTreeMap<RowKey, DayMarks>);

impl StretchDays {
    pub fn insert(&mut self, key: RowKey, marks: DayMarks) {
        self.0.insert(key, marks);
    }

    pub fn get(&self, key: &RowKey) -> Option<&DayMarks> {
        self.0.get(key)
    }

    pub fn iter(&self) -> impl Iterator<Item = (&RowKey, &DayMarks)> {
        self.0.iter()
    }

    /// Folds one entry in and tells which rows it changed. Rows that are not here yet begin empty.
    pub fn apply(&mut self, event: &Event, meta: &EntryMeta) -> Vec<RowKey> {
        let Some((machine, marks)) = marks_of(event) else {
            return Vec::new();
        };
        let source = Source {
            seq: meta.seq,
            recorded_at: meta.recorded_at,
        };
        let mut changed = Vec::new();
        for ((layer, day), marks) in by_row(marks) {
            let key = (machine, layer, day);
            let row = self.0.entry(key).or_insert_with(|| DayMarks::new(layer));
            let Merged { added, .. } = row.merge(source, &marks);
            if added > 0 {
                changed.push(key);
            }
        }
        changed
    }

    /// Whether this very reading stands on its day.
    pub fn has_reading(&self, machine: MachineId, reading: &Reading) -> bool {
        let day = self.get(&(machine, Layer::Readings, reading.at.utc_day()));
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
            .filter_map(|day| self.get(&(machine, Layer::Signals, *day)));
        known.flat_map(|day| day.states().iter().copied()).collect()
    }
}

impl DayMarks {
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
