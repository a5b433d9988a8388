//! A ledger of any size, written by the service's own writer: decided, encoded, hashed and committed like any other.
//! Only its clock is ours, so that the years pass in minutes.

use crate::workload::{BEGINS, Changes, three_shifts};
use anyhow::{Context, Result, ensure};
use futures_util::future::try_join_all;
use serde_json::json;
use spindlebook::book::{Answer, Book, Decision, PrivateRows, QUEUE_MAX, Submission, create_site};
use spindlebook::clock::{Clock, SetClock};
use spindlebook_domain::actor::Actor;
use spindlebook_domain::cell::{AddCell, CellKind};
use spindlebook_domain::command::Command;
use spindlebook_domain::ids::{CellId, CommandId, MachineId, SiteId};
use spindlebook_domain::machine::{
    AddMachine, DownReason, Placement, Reading, ReceiveReadings, ReceiveSignals, SetMachineDown, SetMachineUp,
};
use spindlebook_domain::site::{OpenSite, SetSiteCalendar};
use spindlebook_domain::time::{Timestamp, US_PER_SECOND};
use spindlebook_store::Store;
use std::sync::Arc;
use std::time::Instant;
use uuid::Uuid;

#[derive(clap::Args)]
pub struct Wanted {
    /// `sqlite:` or `postgres:`; the database must be empty.
    url: String,
    #[arg(long, default_value_t = 1_000_000)]
    entries: u64,
    #[arg(long, default_value_t = 8)]
    machines: u64,
    /// How many changes of state a device sends at a time.
    #[arg(long, default_value_t = 10)]
    changes: usize,
    /// How many commands wait at once; the writer takes as many into one commit.
    #[arg(long, default_value_t = 512)]
    waiting: usize,
}

pub async fn write(wanted: &Wanted) -> Result<()> {
    let store = Store::open(&wanted.url, 4).await?;
    let clock = Arc::new(SetClock::at(BEGINS));
    let site = SiteId(Uuid::now_v7());
    let open = OpenSite {
        site,
        code: "BENCH".parse()?,
        name: "Bench".parse()?,
        zone: chrono_tz::Europe::Berlin,
    };
    create_site(&store, clock.as_ref(), open).await?;
    let book = Book::open(store.clone(), clock.clone(), QUEUE_MAX).await?;
    let machines = set_up(&book, site, wanted.machines).await?;
    let began = Instant::now();
    let first = seq(&book, site)?;
    let mut commands = Commands {
        machines,
        turn: 0,
        changes: wanted.changes,
    };
    while seq(&book, site)? < wanted.entries {
        let missing = usize::try_from(wanted.entries - seq(&book, site)?)?;
        let wave: Vec<_> = std::iter::repeat_with(|| commands.next())
            .take(missing.min(wanted.waiting))
            .collect();
        let latest = wave
            .iter()
            .map(|(_, at)| *at)
            .max()
            .context("a wave has commands")?;
        clock.set(latest.max(clock.now()));
        try_join_all(wave.into_iter().map(|(command, _)| submit(&book, site, command))).await?;
    }
    let (entries, seconds) = (seq(&book, site)? - first, began.elapsed().as_secs_f64());
    book.stop().await;
    store.close().await;
    println!("{}", json!({ "entries": entries, "seconds": seconds }));
    Ok(())
}

/// A pool of so many machines that works three shifts.
async fn set_up(book: &Book, site: SiteId, machines: u64) -> Result<Vec<OfMachine>> {
    let cell = CellId(Uuid::now_v7());
    let kind = CellKind::Pool {
        load_stations: 2,
        stands: 12,
        exchange_s: 60,
    };
    submit(
        book,
        site,
        AddCell {
            cell,
            code: "POOL".parse()?,
            name: "Pool".parse()?,
            kind,
        }
        .into(),
    )
    .await?;
    submit(book, site, three_shift_calendar()?.into()).await?;
    let mut added = Vec::new();
    for number in 0..machines {
        added.push(add_machine(book, site, cell, number).await?);
    }
    Ok(added)
}

pub fn three_shift_calendar() -> Result<SetSiteCalendar> {
    let (valid_from, calendar) = three_shifts()?;
    Ok(SetSiteCalendar {
        valid_from,
        calendar,
        expected: None,
    })
}

fn seq(book: &Book, site: SiteId) -> Result<u64> {
    Ok(book.current(site).context("the site is open")?.head.seq)
}

async fn add_machine(book: &Book, site: SiteId, cell: CellId, number: u64) -> Result<OfMachine> {
    let machine = MachineId(Uuid::now_v7());
    let add = AddMachine {
        machine,
        placement: Placement::In(cell),
        code: format!("M{number:02}").parse()?,
        name: format!("Machine {number}").parse()?,
        silent_after_s: None,
    };
    submit(book, site, add.into()).await?;
    Ok(OfMachine {
        machine,
        changes: Changes::of_machine(number, BEGINS),
        told: 0,
        in_cut_s: 0,
    })
}

pub async fn submit(book: &Book, site: SiteId, command: Command) -> Result<()> {
    let key = CommandId(Uuid::now_v7());
    let submission = Submission {
        actor: Actor::System,
        device: Some("bench".to_owned()),
        key,
        fingerprint: [0; 32],
        occurred_at: None,
        command,
        private: PrivateRows::default(),
        answer: Box::new(answer),
    };
    let answer = book.submit(site, submission).await?.into_answer();
    ensure!(
        answer.status == 201,
        "refused: {}",
        String::from_utf8_lossy(&answer.body)
    );
    Ok(())
}

fn answer(decision: &Decision<'_>) -> Answer {
    let (status, body) = match decision {
        Decision::Accepted { head, .. } => (201, json!({ "seq": head.seq })),
        Decision::Refused { refusal, .. } => (
            409,
            json!({ "code": refusal.code(), "detail": refusal.to_string() }),
        ),
    };
    Answer {
        status,
        body: body.to_string().into_bytes(),
        etag: None,
        location: None,
    }
}

/// What the machines tell, each in its turn: mostly signals, now and then a reading, a person's "down" and "up".
struct Commands {
    machines: Vec<OfMachine>,
    turn: usize,
    changes: usize,
}

struct OfMachine {
    machine: MachineId,
    changes: Changes,
    told: u64,
    in_cut_s: u64,
}

impl Commands {
    /// A command and the latest instant in it.
    fn next(&mut self) -> (Command, Timestamp) {
        let number = self.turn % self.machines.len();
        self.turn += 1;
        self.machines[number].next(self.changes)
    }
}

impl OfMachine {
    fn next(&mut self, changes: usize) -> (Command, Timestamp) {
        let machine = self.machine;
        self.told += 1;
        if self.told.is_multiple_of(50) {
            let at = self.latest(1);
            let reason = DownReason::Tooling;
            return (
                SetMachineDown {
                    machine,
                    at,
                    reason,
                    note: None,
                }
                .into(),
                at,
            );
        }
        if self.told % 50 == 1 && self.told > 1 {
            let at = self.latest(1);
            return (SetMachineUp { machine, at }.into(), at);
        }
        if self.told % 50 == 25 {
            let at = self.latest(1);
            let since_s = (at.since_us(BEGINS) / US_PER_SECOND).unsigned_abs();
            self.in_cut_s = self.in_cut_s.max(since_s / 3);
            let reading = Reading {
                at,
                powered_on_s: since_s,
                in_cut_s: self.in_cut_s,
                reset: false,
            };
            return (
                ReceiveReadings {
                    machine,
                    readings: vec![reading],
                    clock: None,
                }
                .into(),
                at,
            );
        }
        let rows: Vec<_> = self.changes.by_ref().take(changes).collect();
        let at = rows.last().map_or(BEGINS, |row| row.0);
        (
            ReceiveSignals {
                machine,
                rows,
                cycles: Vec::new(),
                covers: None,
                clock: None,
            }
            .into(),
            at,
        )
    }

    fn latest(&mut self, skipped: usize) -> Timestamp {
        self.changes.nth(skipped).map_or(BEGINS, |row| row.0)
    }
}
