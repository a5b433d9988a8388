//! One reader of the live stream. It is asked for the next piece only when the connection can take one, so whoever
//! reads slowly keeps nothing in memory: it falls behind, reads the ledger on, and when it is too far behind is told
//! to begin anew.

use super::dto::EntryDto;
use super::streams::Place;
use crate::auth::{Auth, Caller, op};
use crate::book::{Book, BookError, Recorded};
use crate::problem::Problem;
use actix_web::Error;
use actix_web::web::{Bytes, Data};
use futures_util::Stream;
use futures_util::stream;
use serde_json::json;
use spindlebook_domain::entry::{Entry, GENESIS, Hash};
use spindlebook_domain::ids::{Seq, SiteId};
use std::collections::VecDeque;
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::broadcast::error::RecvError;
use tokio::sync::{broadcast, watch};
use tokio::time::{Instant, Interval, MissedTickBehavior};

/// So many entries a reader may be behind: some days of a shop, read in seconds. Whoever is further behind reads the
/// state instead, which is sooner done.
pub const KEPT_ENTRIES: Seq = 10_000;
const PAGE: u32 = 100;
/// A screen that hears nothing for longer than this can say that it is cut off.
const HEARTBEAT_EVERY: Duration = Duration::from_secs(5);
/// How soon a session that has ended closes the stream.
const LOOK_EVERY: Duration = Duration::from_millis(500);
/// A browser that was cut off asks again after so long.
const RETRY_MS: u32 = 2_000;

pub struct Follower {
    book: Data<Book>,
    auth: Data<Auth>,
    site: SiteId,
    token: String,
    published: broadcast::Receiver<Arc<[Recorded]>>,
    closing: watch::Receiver<bool>,
    look: Interval,
    /// The last entry that was given, or is at hand.
    last: Seq,
    /// Of that entry, where it is known.
    hash: Option<Hash>,
    /// At most a page, or what one commit brought.
    at_hand: VecDeque<(Entry, Hash)>,
    /// The ledger has more than was heard of.
    is_behind: bool,
    said_at: Instant,
    standing: Standing,
    _place: Place,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Standing {
    Opening,
    Following,
    Ended,
}

/// What came while there was nothing to give.
enum Came {
    Entries(Arc<[Recorded]>),
    Lag,
    Time,
    End,
}

impl Follower {
    /// `asked`: the last entry that the reader has; without it, the newest.
    pub fn new(
        book: Data<Book>,
        auth: Data<Auth>,
        site: SiteId,
        token: String,
        asked: Option<Seq>,
        (place, closing): (Place, watch::Receiver<bool>),
    ) -> Result<Self, Problem> {
        // Listening begins first: what is committed from here on is heard.
        let published = book.subscribe(site).ok_or(BookError::UnknownSite(site))?;
        let head = head_of(&book, site);
        let mut look = tokio::time::interval(LOOK_EVERY);
        look.set_missed_tick_behavior(MissedTickBehavior::Delay);
        Ok(Self {
            book,
            auth,
            site,
            token,
            published,
            closing,
            look,
            last: asked.unwrap_or(head),
            hash: None,
            at_hand: VecDeque::new(),
            is_behind: true,
            said_at: Instant::now(),
            standing: Standing::Opening,
            _place: place,
        })
    }

    pub fn into_stream(self) -> impl Stream<Item = Result<Bytes, Error>> {
        stream::unfold(self, |mut follower| async move {
            let text = follower.next().await?;
            follower.said_at = Instant::now();
            Some((Ok(Bytes::from(text)), follower))
        })
    }

    /// `None`: the stream ends.
    async fn next(&mut self) -> Option<String> {
        if self.standing == Standing::Opening {
            self.standing = Standing::Following;
            return Some(format!("retry: {RETRY_MS}\n\n"));
        }
        while self.standing == Standing::Following {
            if *self.closing.borrow() {
                return None;
            }
            // Asked again before each entry: nobody reads on whose session has ended or whose roles were taken away.
            if let Err(problem) = Caller::<op::GetLedgerStream>::by_token(&self.auth, &self.book, &self.token)
            {
                return Some(self.closed(&problem));
            }
            if let Some((entry, previous)) = self.at_hand.pop_front() {
                return Some(match event_of(&entry, &previous) {
                    Ok(event) => event,
                    Err(problem) => self.closed(&problem),
                });
            }
            if self.is_behind {
                match self.read().await {
                    Ok(None) => {}
                    Ok(Some(reset)) => return Some(reset),
                    Err(error) => {
                        tracing::debug!(site = %self.site, "a live stream waits for the database: {error}");
                        self.look.tick().await;
                    }
                }
            } else {
                match self.wait().await {
                    Came::Entries(entries) => self.hear(&entries),
                    Came::Lag => self.is_behind = true,
                    Came::Time => {}
                    Came::End => return None,
                }
            }
            if self.at_hand.is_empty() && self.said_at.elapsed() >= HEARTBEAT_EVERY {
                return Some(format!(": head {}\n\n", head_of(&self.book, self.site)));
            }
        }
        None
    }

    async fn wait(&mut self) -> Came {
        tokio::select! {
            heard = self.published.recv() => match heard {
                Ok(entries) => Came::Entries(entries),
                Err(RecvError::Lagged(_)) => Came::Lag,
                Err(RecvError::Closed) => Came::End,
            },
            _ = self.look.tick() => Came::Time,
            _ = self.closing.changed() => Came::End,
        }
    }

    /// What follows on the last entry is taken as it is; anything else is read from the ledger.
    fn hear(&mut self, entries: &[Recorded]) {
        for Recorded { entry, .. } in entries {
            let seq = entry.envelope.seq;
            match self.hash {
                _ if seq <= self.last => {}
                Some(previous) if seq == self.last + 1 => self.keep(entry.clone(), previous),
                _ => {
                    self.is_behind = true;
                    return;
                }
            }
        }
    }

    /// Goes on in the ledger by its numbers: whatever was heard or missed, nothing is left out. Tells the reader to
    /// begin anew where that is sooner done.
    async fn read(&mut self) -> Result<Option<String>, Problem> {
        let head = head_of(&self.book, self.site);
        if self.last > head || head - self.last > KEPT_ENTRIES {
            return Ok(Some(self.reset(head)));
        }
        // With the entry before, whose hash the first one is chained to.
        let after = self.last.saturating_sub(1);
        let entries = self.book.entries_after(self.site, after, PAGE).await?;
        let mut previous = GENESIS;
        for entry in entries {
            let hash = entry.hash;
            if entry.envelope.seq > self.last {
                self.keep(entry, previous);
            }
            previous = hash;
        }
        if self.at_hand.is_empty() && self.last < head {
            let missing = self.last + 1;
            return Err(Problem::fault(&format!(
                "entry {missing} is missing from the ledger"
            )));
        }
        self.hash = Some(previous);
        self.is_behind = self.last < head;
        Ok(None)
    }

    fn keep(&mut self, entry: Entry, previous: Hash) {
        self.last = entry.envelope.seq;
        self.hash = Some(entry.hash);
        self.at_hand.push_back((entry, previous));
    }

    /// Its id is where the reader goes on: cut off right after, it does not ask for the old point again.
    fn reset(&mut self, head: Seq) -> String {
        let data = json!({ "seq": head, "asked_after": self.last, "kept_entries": KEPT_ENTRIES });
        (self.last, self.hash) = (head, None);
        format!("id: {head}\nevent: reset\ndata: {data}\n\n")
    }

    fn closed(&mut self, problem: &Problem) -> String {
        self.standing = Standing::Ended;
        let data = json!({ "code": problem.code() });
        format!("event: closed\ndata: {data}\n\n")
    }
}

fn head_of(book: &Book, site: SiteId) -> Seq {
    book.current(site).map_or(0, |current| current.head.seq)
}

/// JSON as it is written here has no line breaks, so that `data` is one line.
fn event_of(entry: &Entry, previous: &Hash) -> Result<String, Problem> {
    let shown = EntryDto::new(entry, previous)?;
    let data = serde_json::to_string(&shown).map_err(|error| Problem::fault(&error))?;
    Ok(format!("id: {}\nevent: entry\ndata: {data}\n\n", shown.seq))
}
