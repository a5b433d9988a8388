//! The days of machines that the writer knows from its last batches. Devices tell of today again and again: without
//! it, every batch would read and unpack the day that the one before has just written.

use spindlebook_domain::entry::EntryMeta;
use spindlebook_domain::event::Event;
use spindlebook_domain::ids::{MachineId, SiteId};
use spindlebook_domain::stretches::{DayMarks, RowKey, StretchDays};
use spindlebook_store::{Session, StoreError, read};
use std::collections::BTreeSet;

/// Some 20 MB: the day of a few hundred machines that change their state every minute.
const MARKS_MAX: usize = 1_000_000;

/// As of the last commit. Whoever finds that another process has written, or cannot commit, begins with an empty one.
#[derive(Debug, Default)]
pub struct KnownDays {
    days: StretchDays,
    /// An empty row takes room too: each row counts for one, and so does each of its marks.
    marks: usize,
}

impl KnownDays {
    pub const fn all(&self) -> &StretchDays {
        &self.days
    }

    /// Reads what is wanted and not known yet. A machine that the shop does not know has no rows, and whoever asks for
    /// it is refused.
    pub async fn load(
        &mut self,
        session: &mut Session,
        site: SiteId,
        wanted: &BTreeSet<RowKey>,
        is_known: impl Fn(&MachineId) -> bool,
    ) -> Result<(), StoreError> {
        if self.marks > MARKS_MAX {
            *self = Self::default();
        }
        let is_missing = |key: &&RowKey| self.days.get(key).is_none() && is_known(&key.0);
        let unknown: Vec<_> = wanted.iter().filter(is_missing).collect();
        self.marks += unknown.len();
        for key in &unknown {
            self.days.insert(**key, DayMarks::new(key.1));
        }
        for (key, marks) in read::stretch_days(session, site, unknown).await? {
            self.marks += marks.len();
            self.days.insert(key, marks);
        }
        Ok(())
    }

    /// Folds an entry in and tells which days it changed.
    pub fn apply(&mut self, event: &Event, meta: &EntryMeta) -> Vec<RowKey> {
        self.marks += event_rows(event);
        self.days.apply(event, meta)
    }
}

/// At most so many marks come with it: some may be repeats.
const fn event_rows(event: &Event) -> usize {
    match event {
        Event::SignalsReceived(received) => received.state.len(),
        Event::CyclesReceived(received) => received.cycles.len() + 1,
        Event::ReadingsReceived(received) => received.readings.len(),
        _ => 1,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use spindlebook_domain::stretches::Layer;
    use spindlebook_store::Store;
    use uuid::Uuid;

    #[tokio::test]
    async fn rows_without_marks_are_counted_and_those_of_unknown_machines_not_kept() {
        let store = Store::open("sqlite::memory:", 2).await.unwrap();
        let mut session = store.session().await.unwrap();
        let site = SiteId(Uuid::now_v7());
        let (machine, unknown) = (MachineId(Uuid::now_v7()), MachineId(Uuid::now_v7()));
        let wanted = |days: std::ops::Range<i64>| {
            let both = |day| [machine, unknown].map(|machine| (machine, Layer::Signals, day));
            days.flat_map(both).collect::<BTreeSet<_>>()
        };
        let mut known = KnownDays::default();
        // The same again counts nothing again.
        for _ in 0..2 {
            let keys = wanted(0..3);
            let loaded = known.load(&mut session, site, &keys, |known| *known == machine);
            loaded.await.unwrap();
            assert_eq!((known.all().iter().count(), known.marks), (3, 3));
        }
        assert!(known.all().iter().all(|(key, _)| key.0 == machine));
        known.marks = MARKS_MAX + 1;
        let keys = wanted(7..8);
        let loaded = known.load(&mut session, site, &keys, |known| *known == machine);
        loaded.await.unwrap();
        assert_eq!((known.all().iter().count(), known.marks), (1, 1));
    }
}
