//! The days that the writer knows from its last batches. Devices tell of today again and again: without
//! it, every batch would read and unpack the day that the one before has just written.

use spindlebook_domain::entry::EntryMeta;
use spindlebook_domain::ids::{SiteId, Track};
use spindlebook_domain::stretches::{DayMarks, Mark, NotLoaded, RowKey, StretchDays};
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

    /// Reads what is wanted and not known yet, for a whole batch at once. A track that the shop does not know has no
    /// rows, and whoever asks for it is refused.
    pub async fn load(
        &mut self,
        session: &mut Session,
        site: SiteId,
        wanted: &BTreeSet<RowKey>,
        is_known: impl Fn(Track) -> bool,
    ) -> Result<(), StoreError> {
        if self.marks > MARKS_MAX {
            *self = Self::default();
        }
        let of_known: BTreeSet<_> = wanted.iter().filter(|key| is_known(key.0)).copied().collect();
        self.load_missing(session, site, &of_known).await
    }

    /// Reads those of these rows that are not known yet; where all are, nothing is asked of the store.
    pub async fn load_missing(
        &mut self,
        session: &mut Session,
        site: SiteId,
        wanted: &BTreeSet<RowKey>,
    ) -> Result<(), StoreError> {
        let missing: Vec<_> = wanted.iter().filter(|key| self.days.get(key).is_none()).collect();
        if missing.is_empty() {
            return Ok(());
        }
        // Read before anything is put down: where reading fails, no row may pass for an empty one.
        let found = read::stretch_days(session, site, missing.iter().copied()).await?;
        self.marks += missing.len();
        for key in missing {
            self.days.insert(*key, DayMarks::new(key.1));
        }
        for (key, marks) in found {
            self.marks += marks.len();
            self.days.insert(key, marks);
        }
        Ok(())
    }

    /// Folds the marks of an entry in and tells which days they changed. Some may be repeats: then they count too much.
    pub fn apply_marks(
        &mut self,
        marks: Vec<(Track, Mark)>,
        meta: &EntryMeta,
    ) -> Result<Vec<RowKey>, NotLoaded> {
        self.marks += marks.len();
        self.days.apply_marks(marks, meta)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use spindlebook_domain::actor::Actor;
    use spindlebook_domain::stretches::{Layer, Source};
    use spindlebook_domain::time::Timestamp;
    use spindlebook_store::Store;
    use uuid::Uuid;

    #[tokio::test]
    async fn rows_without_marks_are_counted_and_those_of_unknown_machines_not_kept() {
        let store = Store::open("sqlite::memory:", 2).await.unwrap();
        let mut session = store.session().await.unwrap();
        let site = SiteId(Uuid::now_v7());
        let (machine, unknown) = (Track(Uuid::now_v7()), Track(Uuid::now_v7()));
        let wanted = |days: std::ops::Range<i64>| {
            let both = |day| [machine, unknown].map(|machine| (machine, Layer::Signals, day));
            days.flat_map(both).collect::<BTreeSet<_>>()
        };
        let mut known = KnownDays::default();
        // The same again counts nothing again.
        for _ in 0..2 {
            let keys = wanted(0..3);
            let loaded = known.load(&mut session, site, &keys, |known| known == machine);
            loaded.await.unwrap();
            assert_eq!((known.all().iter().count(), known.marks), (3, 3));
        }
        assert!(known.all().iter().all(|(key, _)| key.0 == machine));
        known.marks = MARKS_MAX + 1;
        let keys = wanted(7..8);
        let loaded = known.load(&mut session, site, &keys, |known| known == machine);
        loaded.await.unwrap();
        assert_eq!((known.all().iter().count(), known.marks), (1, 1));
    }

    #[tokio::test]
    async fn a_row_that_the_store_has_is_read_before_it_is_changed() {
        let store = Store::open("sqlite::memory:", 2).await.unwrap();
        let (site, track) = (SiteId(Uuid::now_v7()), Track(Uuid::now_v7()));
        let work = |second: i64, open| Mark::WorkOpen {
            at: Timestamp::MIN.plus_s(second),
            open,
        };
        let key = (track, Layer::Work, Timestamp::MIN.utc_day());
        let mut stored = DayMarks::new(Layer::Work);
        let entry = Source {
            seq: 1,
            recorded_at: Timestamp::MIN,
        };
        stored.merge(entry, &[work(0, true), work(5, false)]);
        let mut transaction = store.begin().await.unwrap();
        let rows = read::StretchRow::changed_after(key, &stored, 0);
        read::put(&mut transaction, site, &rows).await.unwrap();
        let meta = EntryMeta {
            seq: 2,
            occurred_at: Timestamp::MIN,
            recorded_at: Timestamp::MIN,
            actor: Actor::System,
        };
        let mut known = KnownDays::default();
        let new = vec![(track, work(9, true))];
        assert_eq!(known.apply_marks(new.clone(), &meta), Err(NotLoaded(key)));
        known
            .load_missing(&mut transaction, site, &BTreeSet::from([key]))
            .await
            .unwrap();
        assert_eq!(known.apply_marks(new, &meta), Ok(vec![key]));
        assert_eq!(known.all().get(&key).map(DayMarks::len), Some(3));
    }
}
