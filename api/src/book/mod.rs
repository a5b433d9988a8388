//! The book of every site: the one road for commands, and the state after the last commit.
//!
//! `Book::submit` hands a command to its site's one writer ([`writer`]); the writer takes all that wait, locks the
//! site's head, catches up with other processes, decides ([`batch`]), commits once, and only then answers.

mod batch;
mod chain;
mod create;
mod days;
mod desk;
mod error;
mod fold;
mod picture;
mod snapshots;
mod submission;
mod things;
mod touched;
mod upkeep;
mod writer;

pub use chain::{Chain, ExportedHead, Fault, RowFault};
pub use create::create_site;
pub use desk::Current;
pub use error::{BookError, LedgerError};
pub use fold::{FoldError, Folded};
pub use snapshots::schema as snapshot_schema;
pub use spindlebook_store::site::Head;
pub use submission::{
    Answer, AnswerFn, DEVICE_OUTCOME_KEPT_S, Decision, OUTCOME_KEPT_S, PrivateRows, Recorded, Submission,
    Submitted,
};
pub use upkeep::{Progress, RebuildReport, VerifyReport, forget_outcomes, rebuild, verify};

use self::desk::Desk;
use crate::clock::Clock;
use spindlebook_domain::actor::Actor;
use spindlebook_domain::entry::Entry;
use spindlebook_domain::ids::{CommandId, Seq, SiteId};
use spindlebook_domain::shop::Shop;
use spindlebook_domain::time::Timestamp;
use spindlebook_store::{Store, entry, outcome, site};
use std::collections::HashMap;
use std::sync::{Arc, PoisonError, RwLock};
use std::time::Duration;
use tokio::sync::{broadcast, watch};

/// Past so many waiting commands a site says that it is busy.
pub const QUEUE_MAX: usize = 4_096;

/// Clones share everything.
#[derive(Clone)]
pub struct Book {
    store: Store,
    clock: Arc<dyn Clock>,
    queue_max: usize,
    desks: Arc<RwLock<HashMap<SiteId, Arc<Desk>>>>,
}

impl Book {
    /// Opens every site of the database.
    pub async fn open(store: Store, clock: Arc<dyn Clock>, queue_max: usize) -> Result<Self, LedgerError> {
        let book = Self {
            store,
            clock,
            queue_max,
            desks: Arc::default(),
        };
        let sites = site::all(&mut book.store.session().await?).await?;
        for site in sites {
            book.open_site(site.id).await?;
        }
        Ok(book)
    }

    /// Opens a site that was created after the book was opened.
    pub async fn open_site(&self, site: SiteId) -> Result<(), LedgerError> {
        if self.desk(site).is_some() {
            return Ok(());
        }
        let desk = Desk::open(&self.store, &self.clock, site, self.queue_max).await?;
        self.desks
            .write()
            .unwrap_or_else(PoisonError::into_inner)
            .insert(site, Arc::new(desk));
        Ok(())
    }

    /// Waits until the command is durably decided, or tells why it was not taken.
    pub async fn submit(&self, site: SiteId, submission: Submission) -> Result<Submitted, BookError> {
        let desk = self.desk(site).ok_or(BookError::UnknownSite(site))?;
        desk.submit(submission).await
    }

    /// What was answered under this key before, if it was to this same request. For what must be asked before a command
    /// is submitted, and may be different when it is sent again.
    pub async fn answered(
        &self,
        site: SiteId,
        actor: Actor,
        key: CommandId,
        fingerprint: &[u8; 32],
    ) -> Result<Option<Submitted>, LedgerError> {
        let principal = actor.to_string();
        let mut session = self.store.session().await?;
        let found = outcome::find(&mut session, site, [(principal.as_str(), key)]).await?;
        let same = found
            .into_iter()
            .find(|outcome| outcome.fingerprint == *fingerprint);
        Ok(same.map(|outcome| Submitted::Repeat {
            first_given_at: outcome.given_at,
            answer: outcome.into(),
        }))
    }

    /// The site after the last commit, here or in another process.
    pub fn current(&self, site: SiteId) -> Option<Current> {
        Some(self.desk(site)?.current.borrow().clone())
    }

    pub fn shop(&self, site: SiteId) -> Option<Arc<Shop>> {
        Some(self.current(site)?.shop)
    }

    /// See [`Current::rebuilds`].
    pub fn rebuilds(&self, site: SiteId) -> i64 {
        self.current(site).map_or(0, |current| current.rebuilds)
    }

    /// The site as soon as it has come to entry `seq`; `None` if it has not within the given time.
    pub async fn current_at(&self, site: SiteId, seq: Seq, within: Duration) -> Option<Current> {
        let mut current = self.watch(site)?;
        let reached = tokio::time::timeout(within, current.wait_for(|current| current.head.seq >= seq)).await;
        Some(reached.ok()?.ok()?.clone())
    }

    /// Tells of every new state; a slow watcher sees only the newest.
    pub fn watch(&self, site: SiteId) -> Option<watch::Receiver<Current>> {
        Some(self.desk(site)?.current.clone())
    }

    /// The entries of each commit from now on. Who lags behind is told so and reads [`Book::entries_after`].
    pub fn subscribe(&self, site: SiteId) -> Option<broadcast::Receiver<Arc<[Recorded]>>> {
        Some(self.desk(site)?.published.subscribe())
    }

    /// At most `limit` entries of the ledger, in their order.
    pub async fn entries_after(
        &self,
        site: SiteId,
        after: Seq,
        limit: u32,
    ) -> Result<Vec<Entry>, LedgerError> {
        Ok(entry::after(&mut self.store.session().await?, site, after, limit).await?)
    }

    /// The entries with these numbers, in their order: what stands behind a figure.
    pub async fn entries_at(&self, site: SiteId, seqs: &[Seq]) -> Result<Vec<Entry>, LedgerError> {
        Ok(entry::at(&mut self.store.session().await?, site, seqs).await?)
    }

    /// The sites with their codes, by code.
    pub fn sites(&self) -> Vec<(SiteId, String)> {
        let desks = self.desks.read().unwrap_or_else(PoisonError::into_inner);
        let mut sites: Vec<_> = desks
            .iter()
            .map(|(site, desk)| (*site, desk.code.clone()))
            .collect();
        sites.sort_by(|a, b| a.1.cmp(&b.1));
        sites
    }

    pub fn site_by_code(&self, code: &str) -> Option<SiteId> {
        self.sites()
            .into_iter()
            .find(|(_, known)| known.eq_ignore_ascii_case(code))
            .map(|(site, _)| site)
    }

    pub const fn store(&self) -> &Store {
        &self.store
    }

    pub fn now(&self) -> Timestamp {
        self.clock.now()
    }

    /// Takes no more commands, finishes those that wait and keeps a snapshot of each site.
    pub async fn stop(&self) {
        let desks: Vec<_> = self
            .desks
            .read()
            .unwrap_or_else(PoisonError::into_inner)
            .values()
            .cloned()
            .collect();
        for desk in desks {
            desk.stop().await;
        }
    }

    fn desk(&self, site: SiteId) -> Option<Arc<Desk>> {
        self.desks
            .read()
            .unwrap_or_else(PoisonError::into_inner)
            .get(&site)
            .cloned()
    }
}
