//! What is done to a ledger as a whole: verify it, build its read tables anew, and forget the outcomes of commands
//! whose time is over.

use super::chain::{Chain, ExportedHead, Fault};
use super::error::LedgerError;
use super::fold::{CatchUpError, Folded, PAGE};
use super::picture::Picture;
use spindlebook_domain::ids::{Seq, SiteId};
use spindlebook_domain::time::Timestamp;
use spindlebook_store::site::{self, Head, SiteRow};
use spindlebook_store::{Session, Store, StoreError, entry, outcome};

/// So many outcomes are removed at once: writers wait for no longer than one batch takes.
const FORGOTTEN_AT_ONCE: u32 = 1_000;

/// How far a long work has come, in entries.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Progress {
    pub done: Seq,
    pub total: Seq,
}

#[derive(Clone, Debug)]
pub struct VerifyReport {
    pub site: SiteId,
    pub code: String,
    /// The last entry that is there.
    pub head: Head,
    pub rows_compared: u64,
    /// Empty when all is well. Rows are compared only when every entry reads.
    pub faults: Vec<Fault>,
}

impl VerifyReport {
    pub const fn is_sound(&self) -> bool {
        self.faults.is_empty()
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RebuildReport {
    pub entries: Seq,
    pub rows: u64,
}

/// Checks every entry, the head row and every row of the read tables, all as of one moment.
pub async fn verify(
    store: &Store,
    site: SiteId,
    exported: Option<ExportedHead>,
    progress: &mut (dyn FnMut(Progress) + Send),
) -> Result<VerifyReport, LedgerError> {
    let mut session = store.frozen_session().await?;
    let row = site::one(&mut session, site)
        .await?
        .ok_or(LedgerError::UnknownSite(site))?;
    let mut chain = Chain::new(exported);
    let mut picture = Some(Picture::default());
    let unreadable = check_entries(&mut session, &row, &mut chain, &mut picture, progress).await?;
    let (head, mut faults) = chain.finish(Some(&row.head));
    faults.extend(unreadable);
    let mut rows_compared = 0;
    if let Some(picture) = picture {
        let (compared, row_faults) = picture.compare(&mut session, site).await?;
        rows_compared = compared;
        faults.extend(row_faults);
    }
    Ok(VerifyReport {
        site,
        code: row.code,
        head,
        rows_compared,
        faults,
    })
}

/// Goes through all entries; the picture is dropped at the first one that does not read.
async fn check_entries(
    session: &mut Session,
    row: &SiteRow,
    chain: &mut Chain,
    picture: &mut Option<Picture>,
    progress: &mut (dyn FnMut(Progress) + Send),
) -> Result<Option<Fault>, LedgerError> {
    let mut after = 0;
    loop {
        let page = match entry::after(session, row.id, after, PAGE).await {
            Ok(page) => page,
            Err(StoreError::Unreadable(why)) => {
                *picture = None;
                return Ok(Some(Fault::Unreadable { seq: after + 1, why }));
            }
            Err(error) => return Err(error.into()),
        };
        let Some(last) = page.last() else { return Ok(None) };
        after = last.envelope.seq;
        for entry in &page {
            match (chain.check(entry), picture.as_mut()) {
                (Some(event), Some(picture)) => picture.apply(&event, &entry.envelope.meta()),
                (None, _) => *picture = None,
                (Some(_), None) => {}
            }
        }
        progress(Progress {
            done: after,
            total: row.head.seq,
        });
    }
}

/// Drops the rows of the read tables and writes those that the ledger gives, in one transaction: whoever reads sees
/// the old ones or the new ones. Commands wait meanwhile.
pub async fn rebuild(
    store: &Store,
    site: SiteId,
    progress: &mut (dyn FnMut(Progress) + Send),
) -> Result<RebuildReport, LedgerError> {
    let mut transaction = store.begin_long().await?;
    let row = site::lock(&mut transaction, site)
        .await?
        .ok_or(LedgerError::UnknownSite(site))?;
    let mut picture = Picture::default();
    let mut folded = Folded::default();
    folded
        .catch_up(&mut transaction, &row, |page| {
            for recorded in &page {
                picture.apply(&recorded.event, &recorded.entry.envelope.meta());
            }
            let done = page.last().map_or(0, |recorded| recorded.entry.envelope.seq);
            progress(Progress {
                done,
                total: row.head.seq,
            });
        })
        .await
        .map_err(|error| match error {
            CatchUpError::Store(error) => LedgerError::Store(error),
            CatchUpError::Fold(error) => LedgerError::Fold(error),
        })?;
    let rows = picture.write(&mut transaction, site).await?;
    site::note_rebuild(&mut transaction, site).await?;
    transaction.commit().await?;
    Ok(RebuildReport {
        entries: folded.head.seq,
        rows,
    })
}

/// Removes the outcomes that need not be kept any more; tells how many.
pub async fn forget_outcomes(store: &Store, now: Timestamp) -> Result<u64, StoreError> {
    let mut forgotten = 0;
    loop {
        let mut transaction = store.begin().await?;
        let removed = outcome::forget(&mut transaction, now, FORGOTTEN_AT_ONCE).await?;
        transaction.commit().await?;
        forgotten += removed;
        if removed < u64::from(FORGOTTEN_AT_ONCE) {
            return Ok(forgotten);
        }
    }
}
