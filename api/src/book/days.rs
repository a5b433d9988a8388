//! The days of machines that the writer knows from its last batches. Devices tell of today again and again: without
//! it, every batch would read and unpack the day that the one before has just written.

use spindlebook_domain::entry::EntryMeta;
use spindlebook_domain::event::Event;
use spindlebook_domain::ids::SiteId;
use spindlebook_domain::stretches::{DayMarks, RowKey, StretchDays};
use spindlebook_store::{Session, StoreError, read};
use std::collections::BTreeSet;

/// Some 20 MB: the day of a few hundred machines that change their state every minute.
const MARKS_MAX: usize = 1_000_000;

/// As of the last commit. Whoever finds that another process has written, or cannot commit, begins with an empty one.
#[derive(Debug, Default)]
pub struct KnownDays {
    days: StretchDays,
    marks: usize,
}

impl KnownDays {
    pub const fn all(&self) -> &StretchDays {
        &self.days
    }

    /// Reads what is wanted and not known yet.
    pub async fn load(
        &mut self,
        session: &mut Session,
        site: SiteId,
        wanted: &BTreeSet<RowKey>,
    ) -> Result<(), StoreError> {
        if self.marks > MARKS_MAX {
            *self = Self::default();
        }
        let unknown: Vec<_> = wanted.iter().filter(|key| self.days.get(key).is_none()).collect();
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
