//! Folding the ledger into the shop.

use super::submission::Recorded;
use spindlebook_domain::entry::Entry;
use spindlebook_domain::event::{Event, Unreadable};
use spindlebook_domain::ids::{Seq, SiteId};
use spindlebook_domain::shop::Shop;
use spindlebook_store::site::{Head, SiteRow};
use spindlebook_store::{Session, StoreError, entry};

/// Large enough that round trips do not count, small enough that even a page of packed signals fits into memory.
pub(super) const PAGE: u32 = 2_000;

/// Why an entry cannot be folded in. It is never skipped.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum FoldError {
    #[error("entry {seq}: {why}")]
    Unreadable { seq: Seq, why: Unreadable },
    #[error("entry {expected} is missing: the next one is {found}")]
    Gap { expected: Seq, found: Seq },
    #[error("the head says that the ledger ends with entry {expected}, but it ends with {found}")]
    CutShort { expected: Seq, found: Seq },
    #[error("entry {seq} is another one than the head of the ledger says")]
    AnotherHistory { seq: Seq },
    #[error("the ledger went back from entry {from} to {to}: it was restored from an older state")]
    WentBack { from: Seq, to: Seq },
    #[error("the site is not in the database any more")]
    SiteGone,
}

/// A shop together with the place in the ledger that it was folded to.
#[derive(Clone, Debug)]
pub struct Folded {
    pub shop: Shop,
    pub head: Head,
}

impl Default for Folded {
    fn default() -> Self {
        Self {
            shop: Shop::default(),
            head: Head::START,
        }
    }
}

impl Folded {
    /// Folds one entry in and gives the event that it holds.
    pub fn apply(&mut self, entry: &Entry) -> Result<Event, FoldError> {
        let envelope = &entry.envelope;
        let (expected, found) = (self.head.seq + 1, envelope.seq);
        if found != expected {
            return Err(FoldError::Gap { expected, found });
        }
        let event = Event::decode(&envelope.kind, envelope.schema, &entry.payload)
            .map_err(|why| FoldError::Unreadable { seq: found, why })?;
        self.shop.apply(&event, &envelope.meta());
        self.head = Head {
            seq: found,
            hash: entry.hash,
            recorded_at: envelope.recorded_at,
        };
        Ok(event)
    }

    /// Folds in what others wrote, up to the head that `row` tells, and hands each page on to `seen`.
    pub async fn catch_up(
        &mut self,
        session: &mut Session,
        row: &SiteRow,
        mut seen: impl FnMut(Vec<Recorded>),
    ) -> Result<(), CatchUpError> {
        if row.head.seq < self.head.seq {
            return Err(FoldError::WentBack {
                from: self.head.seq,
                to: row.head.seq,
            }
            .into());
        }
        while self.head.seq < row.head.seq {
            let page = self.next_page(session, row.id, row.head.seq).await?;
            let mut recorded = Vec::with_capacity(page.len());
            let mut broken = None;
            for entry in page {
                match self.apply(&entry) {
                    Ok(event) => recorded.push(Recorded { entry, event }),
                    Err(error) => {
                        broken = Some(error);
                        break;
                    }
                }
            }
            seen(recorded);
            if let Some(error) = broken {
                return Err(error.into());
            }
        }
        if self.head.hash != row.head.hash {
            return Err(FoldError::AnotherHistory { seq: row.head.seq }.into());
        }
        Ok(())
    }

    async fn next_page(
        &self,
        session: &mut Session,
        site: SiteId,
        until: Seq,
    ) -> Result<Vec<Entry>, CatchUpError> {
        let missing = until - self.head.seq;
        let limit = u32::try_from(missing).map_or(PAGE, |missing| missing.min(PAGE));
        let page = entry::after(session, site, self.head.seq, limit).await?;
        if page.is_empty() {
            return Err(FoldError::CutShort {
                expected: until,
                found: self.head.seq,
            }
            .into());
        }
        Ok(page)
    }
}

#[derive(Clone, Debug, thiserror::Error)]
pub enum CatchUpError {
    #[error(transparent)]
    Store(#[from] StoreError),
    #[error(transparent)]
    Fold(#[from] FoldError),
}
