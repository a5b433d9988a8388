//! Where a site's commands are handed in and its state is read: the outside of its writer.

use super::days::KnownDays;
use super::error::{BookError, LedgerError, RETRY_AFTER_S};
use super::fold::CatchUpError;
use super::snapshots;
use super::submission::{Recorded, Submission, Submitted};
use super::writer::Writer;
use crate::clock::Clock;
use spindlebook_domain::ids::SiteId;
use spindlebook_domain::shop::Shop;
use spindlebook_store::Store;
use spindlebook_store::site::{self, Head};
use std::sync::Arc;
use tokio::sync::{Mutex, Notify, broadcast, mpsc, oneshot, watch};
use tokio::task::{JoinError, JoinHandle};

/// So many commits a listener may lag behind before it has to read the ledger instead.
const PUBLISHED_KEPT: usize = 1_024;

/// A site as it stands after the last commit.
#[derive(Clone, Debug)]
pub struct Current {
    pub shop: Arc<Shop>,
    pub head: Head,
    /// How often the read tables had been written anew: what was read from them before another number is stale.
    pub rebuilds: i64,
    /// Why it takes no commands, if it does not.
    pub halted: Option<String>,
}

pub(super) struct Waiting {
    pub submission: Submission,
    reply: oneshot::Sender<Result<Submitted, BookError>>,
}

impl Waiting {
    /// A caller that has gone away finds its answer under its key.
    pub fn reply(self, answer: Result<Submitted, BookError>) {
        let _ = self.reply.send(answer);
    }
}

pub(super) struct Desk {
    pub code: String,
    queue: mpsc::Sender<Waiting>,
    pub current: watch::Receiver<Current>,
    pub published: broadcast::Sender<Arc<[Recorded]>>,
    stop: Arc<Notify>,
    writer: Mutex<Option<JoinHandle<()>>>,
}

impl Desk {
    /// Folds the site to its head and starts its writer. A ledger that cannot be read to its end is opened halted.
    pub async fn open(
        store: &Store,
        clock: &Arc<dyn Clock>,
        site: SiteId,
        queue_max: usize,
    ) -> Result<Self, LedgerError> {
        let mut session = store.frozen_session().await?;
        let row = site::one(&mut session, site)
            .await?
            .ok_or(LedgerError::UnknownSite(site))?;
        let mut folded = snapshots::newest(&mut session, &row).await?.unwrap_or_default();
        let snapshot_seq = folded.head.seq;
        let halted = match folded.catch_up(&mut session, &row, drop).await {
            Ok(()) => None,
            Err(CatchUpError::Fold(error)) => Some(error.to_string()),
            Err(CatchUpError::Store(error)) => return Err(error.into()),
        };
        if let Some(reason) = &halted {
            tracing::error!(%site, %reason, "the ledger is open for reading only: {reason}");
        }
        let (queue, taken) = mpsc::channel(queue_max);
        let shop = Arc::new(folded.shop.clone());
        let (current, seen) = watch::channel(Current {
            shop,
            head: folded.head,
            rebuilds: site::rebuilds_at(row.turn),
            halted: halted.clone(),
        });
        let (published, _) = broadcast::channel(PUBLISHED_KEPT);
        let stopping = Arc::new(Notify::new());
        let writer = Writer {
            store: store.clone(),
            clock: Arc::clone(clock),
            site,
            folded,
            turn: row.turn,
            days: KnownDays::default(),
            halted,
            is_gone: false,
            snapshot_seq,
            queue: taken,
            stop: Arc::clone(&stopping),
            current: current.clone(),
            published: published.clone(),
        };
        let writer = tokio::spawn(writer.run());
        let writer = Mutex::new(Some(tokio::spawn(halt_after_fault(site, writer, current))));
        Ok(Self {
            code: row.code,
            queue,
            current: seen,
            published,
            stop: stopping,
            writer,
        })
    }

    pub async fn submit(&self, submission: Submission) -> Result<Submitted, BookError> {
        let (reply, answer) = oneshot::channel();
        self.queue
            .try_send(Waiting { submission, reply })
            .map_err(|refused| match refused {
                mpsc::error::TrySendError::Full(_) => BookError::Busy {
                    retry_after_s: RETRY_AFTER_S,
                },
                mpsc::error::TrySendError::Closed(_) => self.stopped(),
            })?;
        answer.await.unwrap_or_else(|_| Err(self.stopped()))
    }

    fn stopped(&self) -> BookError {
        let reason = self.current.borrow().halted.clone();
        BookError::Halted {
            reason: reason.unwrap_or_else(|| "its writer has ended".to_owned()),
        }
    }

    /// Lets the writer finish what waits and keep a snapshot, then ends it.
    pub async fn stop(&self) {
        self.stop.notify_one();
        let writer = self.writer.lock().await.take();
        if let Some(writer) = writer
            && let Err(error) = writer.await
        {
            tracing::error!(%error, "a writer ended in a fault: {error}");
        }
    }
}

/// A writer that ends in a panic can tell nobody itself: every reader must see that the site takes no more commands.
async fn halt_after_fault(site: SiteId, writer: JoinHandle<()>, current: watch::Sender<Current>) {
    let Err(error) = writer.await else { return };
    let reason = format!("its writer ended in a fault: {}", said_by(error));
    tracing::error!(%site, %reason, "the ledger takes no more commands: {reason}");
    current.send_modify(|now| now.halted = Some(reason));
}

fn said_by(error: JoinError) -> String {
    let text = error.to_string();
    let Ok(panic) = error.try_into_panic() else {
        return text;
    };
    match panic.downcast::<String>() {
        Ok(said) => *said,
        Err(panic) => panic
            .downcast_ref::<&str>()
            .map_or(text, |said| (*said).to_owned()),
    }
}
