//! The one writer of a site: takes the commands that wait, decides them as one batch in one transaction, and answers
//! nobody before the commit.

use super::batch::{Batch, Settled, Unsettled};
use super::days::KnownDays;
use super::desk::{Current, Waiting};
use super::error::BookError;
use super::fold::{CatchUpError, FoldError, Folded};
use super::snapshots;
use super::submission::{Recorded, Submitted};
use crate::clock::Clock;
use spindlebook_domain::command::Command;
use spindlebook_domain::ids::{Seq, SiteId};
use spindlebook_store::site::{self, SiteRow};
use spindlebook_store::{Session, Store, StoreError};
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::{Notify, broadcast, mpsc, watch};
use tokio::time::{Instant, MissedTickBehavior};

/// So many commands share one commit at most; a larger batch would only make its first caller wait.
const BATCH_MAX: usize = 512;
/// So many signals, slots or other small rows as well: the site stays locked while they are worked through.
const BATCH_ROWS_MAX: usize = 100_000;
/// How soon another process's entries are seen when nothing is written here.
const FOLLOW_EVERY: Duration = Duration::from_millis(250);
/// For so long a batch is tried again when the database breaks under it. A commit whose answer got lost is thereby
/// looked up at once in nearly every case; if not, it is when the client sends its key again.
const PATIENCE: Duration = Duration::from_secs(2);
/// After another process has written, so many batches lock the head before they decide: its next batch is likely.
const LOCKED_BATCHES: u32 = 32;
const PAUSE: Duration = Duration::from_millis(20);

pub(super) struct Writer {
    pub store: Store,
    pub clock: Arc<dyn Clock>,
    pub site: SiteId,
    /// As of the last commit that is known to stand.
    pub folded: Folded,
    pub turn: i64,
    /// As of the same commit.
    pub days: KnownDays,
    pub halted: Option<String>,
    /// That the database's file is gone was logged; once is enough.
    pub is_gone: bool,
    /// So many batches go the locked road, because another process writes too.
    pub locked_batches: u32,
    pub snapshot_seq: Seq,
    pub queue: mpsc::Receiver<Waiting>,
    pub stop: Arc<Notify>,
    pub current: watch::Sender<Current>,
    pub published: broadcast::Sender<Arc<[Recorded]>>,
}

/// Why a batch did not come to its end.
enum Broken {
    Store(StoreError),
    Ledger(FoldError),
    Fault(BookError),
}

impl Writer {
    pub async fn run(mut self) {
        let mut waiting = Vec::new();
        let mut follow = tokio::time::interval(FOLLOW_EVERY);
        follow.set_missed_tick_behavior(MissedTickBehavior::Delay);
        let stop = Arc::clone(&self.stop);
        loop {
            tokio::select! {
                biased;
                // What waits already is still taken; after the last of it `recv_many` says 0.
                () = stop.notified() => self.queue.close(),
                taken = self.queue.recv_many(&mut waiting, BATCH_MAX) => {
                    if taken == 0 {
                        break;
                    }
                    for batch in in_batches(std::mem::take(&mut waiting)) {
                        self.take(batch).await;
                    }
                }
                _ = follow.tick() => self.follow().await,
            }
        }
        if self.folded.head.seq > self.snapshot_seq {
            snapshots::write(&self.store, self.site, &self.folded).await;
        }
    }

    /// Answers every one of them, after the commit or with the reason why there is none.
    async fn take(&mut self, batch: Vec<Waiting>) {
        let began = Instant::now();
        let error = loop {
            if let Some(reason) = &self.halted {
                break BookError::Halted {
                    reason: reason.clone(),
                };
            }
            match self.commit(&batch).await {
                Ok(settled) => {
                    for (waiting, settled) in batch.into_iter().zip(settled) {
                        waiting.reply(settled);
                    }
                    self.snapshot_when_due();
                    return;
                }
                Err(Broken::Ledger(error)) => self.halt(&error),
                Err(Broken::Store(error)) if error.is_transient() => {
                    // A file that was taken away does not come back by itself.
                    if began.elapsed() > PATIENCE || matches!(error, StoreError::Gone(_)) {
                        tracing::warn!(site = %self.site, %error, "commands not taken: {error}");
                        self.refuse_all_waiting(&BookError::from(&error));
                        break BookError::from(&error);
                    }
                    tokio::time::sleep(PAUSE).await;
                }
                Err(broken) if batch.len() > 1 => {
                    tracing::warn!(site = %self.site, "taking a batch apart after: {}", broken.to_book_error());
                    return self.take_one_by_one(batch).await;
                }
                Err(broken) => {
                    let error = broken.to_book_error();
                    tracing::error!(site = %self.site, %error, "a command failed: {error}");
                    break error;
                }
            }
        };
        for waiting in batch {
            waiting.reply(Err(error.clone()));
        }
    }

    /// One command that the database cannot take must not drag down those that happened to wait beside it.
    async fn take_one_by_one(&mut self, batch: Vec<Waiting>) {
        for waiting in batch {
            Box::pin(self.take(vec![waiting])).await;
        }
    }

    /// Commits the batch and shows its result to everybody. An error leaves the working state as it was.
    async fn commit(&mut self, waiting: &[Waiting]) -> Result<Vec<Result<Submitted, BookError>>, Broken> {
        let is_plain = waiting
            .iter()
            .all(|waiting| waiting.submission.private.is_empty());
        if is_plain
            && self.locked_batches == 0
            && self.store.can_advance_at_once()
            && let Some(settled) = self.commit_at_once(waiting).await?
        {
            return Ok(settled);
        }
        self.locked_batches = self.locked_batches.saturating_sub(1);
        self.commit_locked(waiting).await
    }

    /// Decides as if nobody else had written and no key had been used before, and commits in one statement, which does
    /// nothing unless both are so: the head must be the one that was decided on, and outcomes have unique keys. `None`:
    /// nothing was done, and the locked road tells what is the matter. One round trip takes the place of five.
    async fn commit_at_once(
        &mut self,
        waiting: &[Waiting],
    ) -> Result<Option<Vec<Result<Submitted, BookError>>>, Broken> {
        let days = std::mem::take(&mut self.days);
        let mut batch = Batch::new(self.site, self.folded.clone(), days, self.clock.now());
        let mut session = self.store.session().await?;
        let Ok(settled) = batch.settle_all(&mut session, waiting).await else {
            return Ok(None);
        };
        if !batch.is_plain() {
            return Ok(None);
        }
        match batch
            .write_at_once(&mut session, &self.folded.head, self.turn)
            .await
        {
            Ok(true) => {
                self.accept(batch);
                Ok(Some(settled))
            }
            Ok(false) => {
                self.locked_batches = LOCKED_BATCHES;
                Ok(None)
            }
            Err(StoreError::Constraint(_)) => Ok(None),
            Err(error) => Err(error.into()),
        }
    }

    async fn commit_locked(
        &mut self,
        waiting: &[Waiting],
    ) -> Result<Vec<Result<Submitted, BookError>>, Broken> {
        let mut transaction = self.store.begin().await?;
        let was = site::lock(&mut transaction, self.site).await?;
        let was = was.ok_or(FoldError::SiteGone)?;
        self.catch_up(&mut transaction, &was).await?;
        // If the batch fails they are gone with it, and the next one reads them again.
        let days = std::mem::take(&mut self.days);
        let mut batch = Batch::new(self.site, self.folded.clone(), days, self.clock.now());
        batch
            .find_answered(
                &mut transaction,
                waiting.iter().map(|waiting| &waiting.submission),
            )
            .await?;
        let settled = batch.settle_all(&mut transaction, waiting).await?;
        if batch.is_new() {
            batch.write(&mut transaction, &was).await?;
            transaction.commit().await?;
            self.accept(batch);
        }
        Ok(settled)
    }

    /// After the commit.
    fn accept(&mut self, batch: Batch) {
        self.folded = batch.folded;
        self.turn += 1;
        self.days = batch.days;
        self.show(batch.entries);
    }

    /// Takes in what other processes wrote. It is committed already, so it stands whatever becomes of the batch.
    async fn catch_up(&mut self, session: &mut Session, row: &SiteRow) -> Result<(), Broken> {
        let is_unchanged = row.turn == self.turn && row.head == self.folded.head;
        if is_unchanged {
            return Ok(());
        }
        self.days = KnownDays::default();
        let is_rebuilt = site::rebuilds_at(row.turn) != site::rebuilds_at(self.turn);
        let mut caught_up = Vec::new();
        let done = self
            .folded
            .catch_up(session, row, |page| caught_up.extend(page))
            .await;
        if done.is_ok() {
            self.turn = row.turn;
        }
        if is_rebuilt || !caught_up.is_empty() {
            self.show(caught_up);
        }
        match done {
            Ok(()) => Ok(()),
            Err(CatchUpError::Store(error)) => Err(Broken::Store(error)),
            Err(CatchUpError::Fold(error)) => Err(Broken::Ledger(error)),
        }
    }

    async fn follow(&mut self) {
        if self.halted.is_some() {
            return;
        }
        match self.look().await {
            Ok(()) => self.is_gone = false,
            Err(Broken::Ledger(error)) => self.halt(&error),
            Err(Broken::Store(error @ StoreError::Gone(_))) if !self.is_gone => {
                self.is_gone = true;
                tracing::error!(site = %self.site, %error, "{error}");
            }
            // The next look may succeed, and a command that fails on it is told about in `take`.
            Err(Broken::Store(error)) => tracing::debug!(site = %self.site, %error, "cannot follow: {error}"),
            Err(Broken::Fault(error)) => tracing::error!(site = %self.site, %error, "cannot follow: {error}"),
        }
    }

    async fn look(&mut self) -> Result<(), Broken> {
        let mut session = self.store.session().await?;
        let row = site::one(&mut session, self.site).await?;
        let row = row.ok_or(FoldError::SiteGone)?;
        self.catch_up(&mut session, &row).await
    }

    /// From here on every reader sees the new state, and whoever listens gets the entries.
    fn show(&self, entries: Vec<Recorded>) {
        let shop = Arc::new(self.folded.shop.clone());
        self.current.send_replace(Current {
            shop,
            head: self.folded.head,
            rebuilds: site::rebuilds_at(self.turn),
            halted: self.halted.clone(),
        });
        if !entries.is_empty() {
            // Nobody may be listening.
            let _ = self.published.send(entries.into());
        }
    }

    /// Reading goes on; taking commands does not, until the reason is gone and the service is started again.
    fn halt(&mut self, error: &FoldError) {
        let reason = error.to_string();
        tracing::error!(site = %self.site, %reason, "the ledger takes no more commands: {reason}");
        self.halted = Some(reason);
        self.show(Vec::new());
    }

    /// While the database is away, waiting in the queue would only add to the wait.
    fn refuse_all_waiting(&mut self, error: &BookError) {
        while let Ok(waiting) = self.queue.try_recv() {
            waiting.reply(Err(error.clone()));
        }
    }

    fn snapshot_when_due(&mut self) {
        if self.folded.head.seq / snapshots::EVERY > self.snapshot_seq / snapshots::EVERY {
            self.snapshot_seq = self.folded.head.seq;
            let (store, site, folded) = (self.store.clone(), self.site, self.folded.clone());
            tokio::spawn(async move { snapshots::write(&store, site, &folded).await });
        }
    }
}

/// In the order in which they came.
fn in_batches(waiting: Vec<Waiting>) -> Vec<Vec<Waiting>> {
    let mut batches: Vec<Vec<Waiting>> = Vec::new();
    let mut rows = BATCH_ROWS_MAX;
    for one in waiting {
        let more = rows_in(&one.submission.command);
        rows += more;
        match batches.last_mut() {
            Some(batch) if rows <= BATCH_ROWS_MAX => batch.push(one),
            _ => {
                rows = more;
                batches.push(vec![one]);
            }
        }
    }
    batches
}

fn rows_in(command: &Command) -> usize {
    match command {
        Command::ReceiveSignals(command) => command.rows.len() + command.cycles.len(),
        Command::ReceiveReadings(command) => command.readings.len(),
        Command::PostPlan(command) => command.slots.len(),
        _ => 1,
    }
}

impl Broken {
    fn to_book_error(&self) -> BookError {
        match self {
            Self::Store(error) => BookError::from(error),
            Self::Ledger(error) => BookError::Halted {
                reason: error.to_string(),
            },
            Self::Fault(error) => error.clone(),
        }
    }
}

impl Batch {
    /// Loads what the decisions need and takes one after the other.
    async fn settle_all(
        &mut self,
        session: &mut Session,
        waiting: &[Waiting],
    ) -> Result<Vec<Result<Submitted, BookError>>, Unsettled> {
        let submissions = waiting.iter().map(|waiting| &waiting.submission);
        self.load(session, submissions.clone()).await?;
        let mut settled = Vec::with_capacity(waiting.len());
        for submission in submissions {
            settled.push(self.settle(session, submission).await?.into_submitted());
        }
        Ok(settled)
    }
}

impl From<Unsettled> for Broken {
    fn from(error: Unsettled) -> Self {
        match error {
            Unsettled::Store(error) => Self::Store(error),
            Unsettled::Fault(error) => Self::Fault(error),
        }
    }
}

impl From<FoldError> for Broken {
    fn from(error: FoldError) -> Self {
        Self::Ledger(error)
    }
}

impl From<StoreError> for Broken {
    fn from(error: StoreError) -> Self {
        Self::Store(error)
    }
}

impl Settled {
    fn into_submitted(self) -> Result<Submitted, BookError> {
        match self {
            Self::First(answer) => Ok(Submitted::First(answer)),
            Self::Repeat(answer, first_given_at) => Ok(Submitted::Repeat {
                answer,
                first_given_at,
            }),
            Self::NotTaken(error) => Err(error),
        }
    }
}
