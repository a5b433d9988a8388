//! Load over HTTP that costs next to nothing, for it shares the processors with the service: one thread, one
//! connection for each client, requests written as bytes. Every answer is read to its end and counted by its status.

use crate::workload::{BEGINS, Changes};
use anyhow::{Context, Result, bail};
use clap::{Args, Subcommand};
use serde_json::json;
use spindlebook_domain::time::{Timestamp, US_PER_SECOND};
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::rc::Rc;
use std::time::{Duration, Instant};
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;
use tokio::task::LocalSet;
use uuid::Uuid;

/// An answer's head is some hundred bytes.
const READ_BYTES: usize = 16 * 1_024;

#[derive(Args, Clone)]
pub struct Wanted {
    /// Where the service listens, as `127.0.0.1:8080`.
    address: String,
    #[arg(long)]
    clients: usize,
    #[arg(long)]
    seconds: u64,
    /// The access token.
    #[arg(long, env = "BENCH_TOKEN", hide_env_values = true)]
    token: String,
    #[command(subcommand)]
    what: What,
}

#[derive(Subcommand, Clone)]
enum What {
    /// Changes of state; each request has an Idempotency-Key of its own, each client a machine of its own.
    Signals {
        #[arg(long)]
        changes: usize,
        /// Where the machines' time goes on, in seconds after the beginning of 2021.
        #[arg(long, default_value_t = 0)]
        from_s: i64,
        machines: Vec<Uuid>,
    },
    /// Pallets that are moved to and fro between two stands, the first one first; each client has a pallet of its own.
    Moves {
        #[arg(long, num_args = 2)]
        stand: Vec<u32>,
        pallets: Vec<Uuid>,
    },
    /// The same questions again and again.
    Get { paths: Vec<String> },
}

/// What the clients counted together.
#[derive(Default)]
struct Tally {
    by_status: BTreeMap<u16, u64>,
    changes: u64,
    latency_us: Vec<u32>,
    reached: Option<Timestamp>,
    /// The first answer that is no 2xx.
    refused: Option<String>,
}

pub async fn run(wanted: &Wanted) -> Result<()> {
    let wanted = Rc::new(wanted.clone());
    let mut clients = Vec::new();
    for number in 0..wanted.clients {
        clients.push(Client::connect(number, &wanted).await?);
    }
    let began = Instant::now();
    let until = began + Duration::from_secs(wanted.seconds);
    let tasks = LocalSet::new();
    let running: Vec<_> = clients
        .into_iter()
        .map(|client| tasks.spawn_local(client.run(until)))
        .collect();
    tasks.await;
    let seconds = began.elapsed().as_secs_f64();
    let mut all = Tally::default();
    for client in running {
        all.add(client.await??);
    }
    println!("{}", all.into_json(seconds));
    Ok(())
}

struct Client {
    wanted: Rc<Wanted>,
    requests: Requests,
    connection: TcpStream,
    tally: Tally,
}

impl Client {
    async fn connect(number: usize, wanted: &Rc<Wanted>) -> Result<Self> {
        let connection = TcpStream::connect(&wanted.address)
            .await
            .with_context(|| format!("nobody listens at {}", wanted.address))?;
        connection.set_nodelay(true)?;
        let requests = Requests::of_client(number, wanted)?;
        Ok(Self {
            wanted: Rc::clone(wanted),
            requests,
            connection,
            tally: Tally::default(),
        })
    }

    /// A client that has asked waits for its answer, also beyond the end: so every answer is known.
    async fn run(mut self, until: Instant) -> Result<Tally> {
        let (mut request, mut answer) = (Vec::new(), Vec::with_capacity(READ_BYTES));
        while Instant::now() < until {
            request.clear();
            let changes = self.requests.write(&self.wanted, &mut request)?;
            let sent_at = Instant::now();
            self.connection.write_all(&request).await?;
            let status = read_answer(&mut self.connection, &mut answer).await?;
            self.tally
                .latency_us
                .push(u32::try_from(sent_at.elapsed().as_micros()).unwrap_or(u32::MAX));
            *self.tally.by_status.entry(status).or_default() += 1;
            if (200..300).contains(&status) {
                self.tally.changes += changes;
            } else if self.tally.refused.is_none() {
                self.tally.refused = Some(String::from_utf8_lossy(&answer).into_owned());
            }
        }
        self.tally.reached = self.requests.reached();
        Ok(self.tally)
    }
}

/// What a client sends next.
enum Requests {
    Signals {
        head: String,
        changes: Changes,
        each: usize,
        last: Timestamp,
    },
    Moves {
        head: String,
        stands: Vec<u32>,
        done: usize,
    },
    Get {
        paths: Vec<String>,
        next: usize,
    },
}

impl Requests {
    fn of_client(number: usize, wanted: &Wanted) -> Result<Self> {
        Ok(match &wanted.what {
            What::Signals {
                changes,
                from_s,
                machines,
            } => {
                let machine = machines
                    .get(number)
                    .context("there must be a machine for each client")?;
                let from = BEGINS.plus_s(*from_s);
                Self::Signals {
                    head: head(wanted, "POST", &format!("/v1/machines/{machine}/signals")),
                    changes: Changes::of_machine(number as u64, from),
                    each: *changes,
                    last: from,
                }
            }
            What::Moves { stand, pallets } => {
                let pallet = pallets
                    .get(number)
                    .context("there must be a pallet for each client")?;
                Self::Moves {
                    head: head(wanted, "POST", &format!("/v1/pallets/{pallet}/move")),
                    stands: stand.clone(),
                    done: 0,
                }
            }
            What::Get { paths } => Self::Get {
                paths: paths.clone(),
                next: number,
            },
        })
    }

    /// Gives how many changes of state the request tells of.
    fn write(&mut self, wanted: &Wanted, to: &mut Vec<u8>) -> Result<u64> {
        match self {
            Self::Signals {
                head,
                changes,
                each,
                last,
            } => {
                let mut body = String::with_capacity(80 * *each);
                body.push_str("{\"transitions\":[");
                for (position, (at, state)) in changes.take(*each).enumerate() {
                    let comma = if position == 0 { "" } else { "," };
                    write!(body, "{comma}{{\"at\":\"{at}\",\"state\":\"{}\"}}", state.name())?;
                    *last = at;
                }
                body.push_str("]}");
                to.extend(command(head, &body));
                Ok(*each as u64)
            }
            Self::Moves { head, stands, done } => {
                let number = stands
                    .get(*done % stands.len().max(1))
                    .context("there must be two stands")?;
                *done += 1;
                to.extend(command(
                    head,
                    &format!("{{\"to\":{{\"kind\":\"stand\",\"number\":{number}}}}}"),
                ));
                Ok(0)
            }
            Self::Get { paths, next } => {
                let path = paths
                    .get(*next % paths.len().max(1))
                    .context("there must be a path")?;
                *next += 1;
                to.extend_from_slice(head(wanted, "GET", path).as_bytes());
                to.extend_from_slice(b"\r\n");
                Ok(0)
            }
        }
    }

    const fn reached(&self) -> Option<Timestamp> {
        match self {
            Self::Signals { last, .. } => Some(*last),
            Self::Moves { .. } | Self::Get { .. } => None,
        }
    }
}

/// A request with a key of its own.
fn command(head: &str, body: &str) -> Vec<u8> {
    let key = Uuid::new_v4();
    let length = body.len();
    let rest = format!(
        "Idempotency-Key: \"{key}\"\r\nContent-Type: application/json\r\nContent-Length: {length}\r\n\r\n"
    );
    [head.as_bytes(), rest.as_bytes(), body.as_bytes()].concat()
}

fn head(wanted: &Wanted, method: &str, path: &str) -> String {
    let Wanted { address, token, .. } = wanted;
    format!("{method} {path} HTTP/1.1\r\nHost: {address}\r\nAuthorization: Bearer {token}\r\n")
}

/// Leaves head and body in `answer` and gives the status.
async fn read_answer(connection: &mut TcpStream, answer: &mut Vec<u8>) -> Result<u16> {
    answer.clear();
    let body_at = loop {
        if connection.read_buf(answer).await? == 0 {
            bail!("the service closed the connection in the middle of an answer");
        }
        if let Some(end) = answer.windows(4).position(|four| four == b"\r\n\r\n") {
            break end + 4;
        }
    };
    let head = std::str::from_utf8(&answer[..body_at]).context("the head of an answer is no text")?;
    let status = head
        .get(9..12)
        .and_then(|digits| digits.parse().ok())
        .context("an answer without a status")?;
    let length = head.lines().find_map(|line| {
        let (name, value) = line.split_once(':')?;
        name.eq_ignore_ascii_case("content-length")
            .then(|| value.trim().parse::<usize>().ok())?
    });
    let whole = body_at + length.context("an answer without a length")?;
    while answer.len() < whole {
        if connection.read_buf(answer).await? == 0 {
            bail!("the service closed the connection in the middle of an answer");
        }
    }
    Ok(status)
}

impl Tally {
    fn add(&mut self, other: Self) {
        for (status, count) in other.by_status {
            *self.by_status.entry(status).or_default() += count;
        }
        self.changes += other.changes;
        self.latency_us.extend(other.latency_us);
        self.reached = self.reached.max(other.reached);
        self.refused = self.refused.take().or(other.refused);
    }

    fn into_json(mut self, seconds: f64) -> serde_json::Value {
        self.latency_us.sort_unstable();
        let count = self.latency_us.len();
        let at = |percent: usize| {
            self.latency_us
                .get((count * percent / 100).min(count.saturating_sub(1)))
        };
        let ms = |percent| at(percent).map(|us| f64::from(*us) / 1_000.0);
        let accepted: u64 = self.by_status.range(200..300).map(|(_, count)| count).sum();
        json!({
            "seconds": seconds,
            "accepted": accepted,
            "changes": self.changes,
            "by_status": self.by_status,
            "p50_ms": ms(50), "p99_ms": ms(99), "max_ms": ms(100),
            "reached_s": self.reached.map(|at| at.since_us(BEGINS) / US_PER_SECOND),
            "refused": self.refused,
        })
    }
}
