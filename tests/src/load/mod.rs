//! Many clients at once, each sending one command after the other, and sending it again with the same key until it
//! has the whole answer: blindly, as a device does that cannot know whether its first try arrived.

use crate::http_client;
use anyhow::Result;
use reqwest::header::{AUTHORIZATION, CONTENT_TYPE};
use serde_json::Value;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::time::{Duration, Instant};
use tokio::task::JoinSet;
use uuid::Uuid;

/// Between two tries of one command.
const PAUSE: Duration = Duration::from_millis(20);

/// What one client sends as its n-th command.
#[derive(Clone, Debug)]
pub struct Sending {
    pub path: String,
    pub body: Value,
    /// How many entries it gives.
    pub entries: usize,
}

/// A command whose whole 2xx the client has got.
#[derive(Clone, Debug)]
pub struct Acknowledged {
    pub key: Uuid,
    pub entries: usize,
    pub tries: usize,
    pub sent_at: Instant,
    pub at: Instant,
    pub body: Vec<u8>,
}

/// An answer that no well-made command should get.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unexpected {
    pub key: Uuid,
    pub status: u16,
    pub body: String,
}

#[derive(Debug, Default)]
pub struct Tally {
    pub acknowledged: Vec<Acknowledged>,
    pub unexpected: Vec<Unexpected>,
    /// Tries that were told to come again later, each with how long to wait.
    pub busy: usize,
    /// Of those, the ones that did not say when.
    pub busy_without_retry_after: usize,
    /// Tries whose answer never came.
    pub unanswered: usize,
}

/// An access token of client number `c` that is valid now: a long load outlives any single one.
pub type TokenSource = Arc<dyn Fn(usize) -> String + Send + Sync>;

/// Running clients. They go on until [`Load::finish`].
pub struct Load {
    clients: JoinSet<Tally>,
    stopping: Arc<AtomicBool>,
    acknowledged: Arc<AtomicUsize>,
}

struct Client {
    http: reqwest::Client,
    number: usize,
    base_url: String,
    token: TokenSource,
    stopping: Arc<AtomicBool>,
    acknowledged: Arc<AtomicUsize>,
}

enum Outcome {
    Acknowledged(Vec<u8>),
    Busy { said_when: bool },
    Unanswered,
    Unexpected { status: u16, body: String },
}

impl Load {
    /// `next` says what client number `c` sends as its `n`-th command.
    pub fn start(
        base_url: &str,
        token: &TokenSource,
        clients: usize,
        next: impl Fn(usize, usize) -> Sending + Send + Sync + 'static,
    ) -> Result<Self> {
        let next = Arc::new(next);
        let mut load = Self {
            clients: JoinSet::new(),
            stopping: Arc::new(AtomicBool::new(false)),
            acknowledged: Arc::new(AtomicUsize::new(0)),
        };
        for number in 0..clients {
            let client = Client {
                number,
                http: http_client::new()?,
                base_url: base_url.to_owned(),
                token: Arc::clone(token),
                stopping: Arc::clone(&load.stopping),
                acknowledged: Arc::clone(&load.acknowledged),
            };
            let next = Arc::clone(&next);
            load.clients
                .spawn(async move { client.run(|n| next(number, n)).await });
        }
        Ok(load)
    }

    /// So far, by all clients.
    pub fn acknowledged(&self) -> usize {
        self.acknowledged.load(Ordering::SeqCst)
    }

    /// Every client goes on until the command that it is at is answered, and then ends.
    pub async fn finish(mut self) -> Tally {
        self.stopping.store(true, Ordering::SeqCst);
        let mut all = Tally::default();
        while let Some(one) = self.clients.join_next().await {
            match one {
                Ok(one) => all.add(one),
                Err(error) => panic!("a client of the load ended before its time: {error}"),
            }
        }
        all
    }
}

impl Tally {
    fn add(&mut self, other: Self) {
        self.acknowledged.extend(other.acknowledged);
        self.unexpected.extend(other.unexpected);
        self.busy += other.busy;
        self.busy_without_retry_after += other.busy_without_retry_after;
        self.unanswered += other.unanswered;
    }
}

impl Client {
    async fn run(&self, next: impl Fn(usize) -> Sending) -> Tally {
        let mut tally = Tally::default();
        for n in 0.. {
            if self.stopping.load(Ordering::SeqCst) {
                break;
            }
            self.send_until_answered(&next(n), &mut tally).await;
            if !tally.unexpected.is_empty() {
                break;
            }
        }
        tally
    }

    async fn send_until_answered(&self, sending: &Sending, tally: &mut Tally) {
        let key = Uuid::now_v7();
        let sent_at = Instant::now();
        for tries in 1.. {
            match self.send(sending, key).await {
                Outcome::Acknowledged(body) => {
                    self.acknowledged.fetch_add(1, Ordering::SeqCst);
                    let entries = sending.entries;
                    tally.acknowledged.push(Acknowledged {
                        key,
                        entries,
                        tries,
                        sent_at,
                        at: Instant::now(),
                        body,
                    });
                    return;
                }
                Outcome::Unexpected { status, body } => {
                    tally.unexpected.push(Unexpected { key, status, body });
                    return;
                }
                Outcome::Busy { said_when } => {
                    tally.busy += 1;
                    tally.busy_without_retry_after += usize::from(!said_when);
                }
                Outcome::Unanswered => tally.unanswered += 1,
            }
            tokio::time::sleep(PAUSE).await;
        }
    }

    async fn send(&self, sending: &Sending, key: Uuid) -> Outcome {
        let request = self
            .http
            .post(format!("{}{}", self.base_url, sending.path))
            .header("Idempotency-Key", format!("\"{key}\""))
            .header(AUTHORIZATION, format!("Bearer {}", (self.token)(self.number)))
            .header(CONTENT_TYPE, "application/json")
            .body(sending.body.to_string());
        let Ok(answer) = request.send().await else {
            return Outcome::Unanswered;
        };
        let status = answer.status().as_u16();
        let said_when = answer.headers().contains_key("Retry-After");
        // Half an answer is none.
        let Ok(body) = answer.bytes().await else {
            return Outcome::Unanswered;
        };
        match status {
            200..=299 => Outcome::Acknowledged(body.to_vec()),
            503 => Outcome::Busy { said_when },
            _ => Outcome::Unexpected {
                status,
                body: String::from_utf8_lossy(&body).into_owned(),
            },
        }
    }
}

#[cfg(test)]
mod tests;
