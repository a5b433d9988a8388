//! The ledger and its writer, on both engines.

mod append_only;
mod durability;
mod following;
mod forgetting;
mod halting;
mod keys;
mod order;
mod read_rows;
mod rebuilding;
mod schema;
mod snapshots;
mod tampering;
mod verifying;

use sea_orm::{ConnectionTrait, Database, DatabaseConnection};
use sha2::{Digest, Sha256};
use spindlebook::book::{
    Answer, Book, BookError, Decision, PrivateRows, QUEUE_MAX, Submission, Submitted, create_site,
};
use spindlebook::clock::{Clock, SetClock};
use spindlebook_domain::actor::Actor;
use spindlebook_domain::command::Command;
use spindlebook_domain::ids::{CellId, CommandId, MachineId, PlanId, PrincipalId, SiteId};
use spindlebook_domain::machine::{
    AddMachine, DownReason, Placement, Reading, ReceiveReadings, ReceiveSignals, SetMachineDown, SetMachineUp,
};
use spindlebook_domain::machine_state::MachineState;
use spindlebook_domain::plan::{PostPlan, PublishPlan, Slot};
use spindlebook_domain::site::OpenSite;
use spindlebook_domain::time::{Timestamp, Window};
use spindlebook_store::Store;
use spindlebook_tests::engine::{Engine, Storage};
use std::sync::Arc;
use uuid::Uuid;

/// 2026-11-02T06:00:00Z, a Monday.
const START: Timestamp = Timestamp(1_793_599_200_000_000);

/// A database with one site of one machine, and a book that serves it.
struct Ledger {
    storage: Storage,
    store: Store,
    clock: Arc<SetClock>,
    book: Book,
    site: SiteId,
    machine: MachineId,
}

impl Ledger {
    async fn new(engine: Engine) -> Self {
        let storage = Storage::new(engine).await.unwrap();
        let store = Store::open_for_tests(&storage.url, 4).await.unwrap();
        let clock = Arc::new(SetClock::at(START));
        let (site, machine) = (SiteId(Uuid::now_v7()), MachineId(Uuid::now_v7()));
        create_site(&store, clock.as_ref(), open_site(site, "one"))
            .await
            .unwrap();
        let book = open(&store, &clock).await;
        let ledger = Self {
            storage,
            store,
            clock,
            book,
            site,
            machine,
        };
        assert_eq!(ledger.does(add_machine(machine, "M1")).await, 201);
        ledger
    }

    /// Another service on the same database, with connections of its own.
    async fn another_book(&self) -> Book {
        let store = Store::open_for_tests(&self.storage.url, 4).await.unwrap();
        open(&store, &self.clock).await
    }

    /// As after a restart.
    async fn opened_again(&self) -> Book {
        open(&self.store, &self.clock).await
    }

    /// Sends the command under a key of its own and gives the status of the answer.
    async fn does(&self, command: impl Into<Command>) -> u16 {
        let submitted = self.book.submit(self.site, submission(new_key(), command)).await;
        submitted.unwrap().into_answer().status
    }

    async fn submit(&self, key: CommandId, command: impl Into<Command>) -> Result<Submitted, BookError> {
        self.book.submit(self.site, submission(key, command)).await
    }

    fn seq(&self) -> u64 {
        self.book.current(self.site).unwrap().head.seq
    }

    /// Past everything that the service offers.
    async fn raw(&self) -> DatabaseConnection {
        Database::connect(&self.storage.url).await.unwrap()
    }

    async fn drop_triggers(&self) -> DatabaseConnection {
        let raw = self.raw().await;
        let sql = match self.storage.engine {
            Engine::Sqlite => {
                "DROP TRIGGER entry_no_update; DROP TRIGGER entry_no_delete; DROP TRIGGER site_forward"
            }
            Engine::Postgres => {
                "ALTER TABLE entry DISABLE TRIGGER USER; ALTER TABLE site DISABLE TRIGGER USER"
            }
        };
        raw.execute_unprepared(sql).await.unwrap();
        raw
    }

    /// A day with every kind of row: states, a cycle, a reading, a down time, two plans of which one is published.
    async fn some_history(&self) {
        let machine = self.machine;
        self.clock.set(START.plus_s(10 * 86_400));
        let states: Vec<_> = (0..200).map(|n| (START.plus_s(n * 600), state(n))).collect();
        assert_eq!(self.does(signals(machine, states)).await, 201);
        let cycle = Window::new(START.plus_s(200_000), START.plus_s(200_900));
        let cycles = ReceiveSignals {
            cycles: vec![cycle],
            covers: Some(Window::new(cycle.from, cycle.to.plus_s(60))),
            ..signals(machine, Vec::new())
        };
        assert_eq!(self.does(cycles).await, 201);
        let reading = Reading {
            at: START.plus_s(90_000),
            powered_on_s: 5_000,
            in_cut_s: 1_200,
            reset: false,
        };
        assert_eq!(
            self.does(ReceiveReadings {
                machine,
                readings: vec![reading],
                clock: None
            })
            .await,
            201
        );
        let down = SetMachineDown {
            machine,
            at: START.plus_s(100_000),
            reason: DownReason::Tooling,
            note: None,
        };
        assert_eq!(self.does(down).await, 201);
        assert_eq!(
            self.does(SetMachineUp {
                machine,
                at: START.plus_s(101_000)
            })
            .await,
            201
        );
        for number in 0..2 {
            let plan = PlanId(Uuid::now_v7());
            let starts_at = START.plus_s(11 * 86_400 + number * 3_600);
            let slots = vec![Slot {
                machine,
                starts_at,
                cycle_s: 1_800,
            }];
            assert_eq!(self.does(PostPlan { plan, slots }).await, 201);
            if number == 0 {
                assert_eq!(self.does(PublishPlan { plan }).await, 201);
            }
        }
    }
}

async fn open(store: &Store, clock: &Arc<SetClock>) -> Book {
    let clock: Arc<dyn Clock> = Arc::clone(clock) as Arc<dyn Clock>;
    Book::open(store.clone(), clock, QUEUE_MAX).await.unwrap()
}

fn open_site(site: SiteId, code: &str) -> OpenSite {
    OpenSite {
        site,
        code: code.parse().unwrap(),
        name: "Invented shop".parse().unwrap(),
        zone: chrono_tz::Europe::Berlin,
    }
}

fn add_machine(machine: MachineId, code: &str) -> AddMachine {
    AddMachine {
        machine,
        placement: Placement::Standalone(CellId(Uuid::now_v7())),
        code: code.parse().unwrap(),
        name: "Mill".parse().unwrap(),
        silent_after_s: None,
    }
}

fn signals(machine: MachineId, rows: Vec<(Timestamp, MachineState)>) -> ReceiveSignals {
    ReceiveSignals {
        machine,
        rows,
        cycles: Vec::new(),
        covers: None,
        clock: None,
    }
}

/// One state at so many seconds after the start.
fn signal(machine: MachineId, at_s: i64) -> ReceiveSignals {
    signals(machine, vec![(START.plus_s(at_s), state(at_s))])
}

fn state(number: i64) -> MachineState {
    if number % 2 == 0 {
        MachineState::Active
    } else {
        MachineState::Ready
    }
}

const THE_SENDER: PrincipalId = PrincipalId(Uuid::from_u128(7));

fn new_key() -> CommandId {
    CommandId(Uuid::now_v7())
}

/// From one and the same person, whose answers tell which entries came of the command.
fn submission(key: CommandId, command: impl Into<Command>) -> Submission {
    let command = command.into();
    Submission {
        actor: Actor::Person(THE_SENDER),
        device: None,
        key,
        fingerprint: Sha256::digest(format!("{command:?}")).into(),
        occurred_at: None,
        command,
        private: PrivateRows::default(),
        answer: Box::new(answer),
    }
}

fn answer(decision: &Decision<'_>) -> Answer {
    let (status, body) = match decision {
        Decision::Accepted { entries, head, .. } => {
            let seqs: Vec<_> = entries
                .iter()
                .map(|recorded| recorded.entry.envelope.seq)
                .collect();
            // What is there already gives no entry.
            assert!(seqs.last().is_none_or(|last| *last == head.seq));
            (201, format!("{seqs:?}"))
        }
        Decision::Refused { refusal, .. } => (409, refusal.code().to_owned()),
    };
    Answer {
        status,
        body: body.into_bytes(),
        etag: Some(format!("\"{status}\"")),
        location: None,
    }
}

fn body_of(submitted: &Submitted) -> String {
    let (Submitted::First(answer) | Submitted::Repeat { answer, .. }) = submitted;
    String::from_utf8(answer.body.clone()).unwrap()
}
