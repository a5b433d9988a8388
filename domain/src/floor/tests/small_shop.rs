//! A cell with two machines and three pallets, a standalone lathe, one fixture of two copies, and jobs for them.

use crate::actor::Actor;
use crate::calendar::{Calendar, TimeOfDay, WeeklyShift};
use crate::cell::{AddCell, CellKind};
use crate::entry::EntryMeta;
use crate::fixture::{AddFixture, FixtureCopy, FixtureFacts};
use crate::floor::{
    Count, FinishRun, FinishSetup, LoadPallet, MountFixture, MovePallet, PauseRun, PlaceHold, ResumeRun,
    SetQueue, StartRun, UnloadPallet,
};
use crate::ids::{
    FixtureCopyId, FixtureId, HoldId, JobId, LoadId, OrderId, PalletId, PartId, RunId, SetupId, TextId,
};
use crate::inspection::DisposeHold;
use crate::job::{AtOperation, Job, Release};
use crate::load::{Clamped, Disposition, HoldKind};
use crate::machine::{AddMachine, MachineTool, Placement, SetMachineTools};
use crate::note::NoteRef;
use crate::order::{LineFacts, Material, OrderEntered, Priority};
use crate::pallet::{AddPallet, PalletFacts, Position};
use crate::part::{
    AddPart, Clearance, CycleTime, Machining, Operation, Place, RevisionFacts, Routing, ToolUse, Work,
};
use crate::run::PauseReason;
use crate::shop::given::{Given, an_open_site, at_s, cell, code, machine, name};
use crate::site::SetSiteCalendar;
use crate::size::Size;
use crate::time::Timestamp;
use chrono::{NaiveDate, Weekday};
use uuid::Uuid;

macro_rules! numbered {
    ($($name:ident($number:ty): $id:ident = $base:literal;)+) => {$(
        pub fn $name(number: $number) -> $id {
            $id(Uuid::from_u128($base + u128::from(number)))
        }
    )+};
}

numbered! {
    pallet(u8): PalletId = 0x9a11_0000;
    fixture(u8): FixtureId = 0xf1c5_0000;
    copy(u8): FixtureCopyId = 0xc099_0000;
    part(u8): PartId = 0x9a47_0000;
    job(u8): JobId = 0x0b0b_0000;
    load(u32): LoadId = 0x10ad_0000;
    run(u32): RunId = 0x4074_0000;
    hold(u32): HoldId = 0x401d_0000;
    setup(u32): SetupId = 0x5e70_0000;
}

pub const SIZE: Size = Size {
    length_mm: 400,
    width_mm: 300,
    height_mm: 500,
};

pub const LOAD_STATION: Position = Position::LoadStation { number: 1 };
pub const STAND: Position = Position::Stand { number: 1 };

pub fn spindle(number: u8) -> Position {
    Position::Spindle {
        machine: machine(number),
    }
}

pub fn pallet_facts(text: &str) -> PalletFacts {
    PalletFacts {
        code: code(text),
        name: name("Pallet"),
        size: SIZE,
        mass_max_g: 100_000,
        interface: code("Z52"),
    }
}

pub fn fixture_facts(text: &str, nests: u32) -> FixtureFacts {
    FixtureFacts {
        code: code(text),
        name: name("Fixture"),
        interface: code("Z52"),
        nests,
        mount_s: 900,
        mass_g: Some(20_000),
        size: None,
    }
}

/// 8 pieces a load, 600 s a load; cleared to run alone on machine 1 only.
pub fn machining(fixtures: &[u8]) -> Machining {
    Machining {
        places: vec![Place {
            cell: cell(1),
            machines: Vec::new(),
            cycle: CycleTime::PerLoad { cycle_s: 600 },
            program: None,
            tools: vec![ToolUse {
                tool: code("T12"),
                used_s_per_load: 80,
            }],
            clearances: vec![Clearance {
                machine: machine(1),
                checklist: vec![name("Coolant level")],
            }],
        }],
        fixtures: fixtures.iter().map(|number| fixture(*number)).collect(),
        pieces_per_load: 8,
        load_s: 300,
        unload_s: 200,
        setup_sheet: None,
        first_piece: false,
        first_article: false,
    }
}

pub fn operation(number: u16, machining: Machining) -> Operation {
    Operation {
        number,
        name: name("Milling"),
        work: Work::Machining(machining),
    }
}

/// The small shop, and the way to act in it.
pub struct Floor {
    pub given: Given,
    next: u32,
}

impl Floor {
    /// Cell 1: load stations 1 and 2, stands 1 and 2, machines 1 and 2, pallets 1 to 3; cell 2: lathe 3, its table 9.
    /// Fixture 1 (F7) has copies 1 and 2, fixture 2 has copy 3. Job 1: 20 pieces of operations 10 and 20.
    pub fn new() -> Self {
        let mut given = an_open_site();
        let pool = CellKind::Pool {
            load_stations: 2,
            stands: 2,
            exchange_s: 60,
        };
        given.does(AddCell {
            cell: cell(1),
            code: code("POOL"),
            name: name("Pool"),
            kind: pool,
        });
        for (number, placement) in [
            (1, Placement::In(cell(1))),
            (2, Placement::In(cell(1))),
            (3, Placement::Standalone(cell(2))),
        ] {
            given.does(AddMachine {
                machine: machine(number),
                placement,
                code: code(&format!("M{number}")),
                name: name("Mill"),
                silent_after_s: None,
            });
        }
        let places = [
            (1, cell(1), Some(LOAD_STATION)),
            (2, cell(1), Some(STAND)),
            (3, cell(1), None),
            (9, cell(2), None),
        ];
        for (number, cell, position) in places {
            given.does(AddPallet {
                pallet: pallet(number),
                cell,
                facts: pallet_facts(&format!("P{number}")),
                position,
            });
        }
        let mut floor = Self { given, next: 0 };
        floor.add_fixture(1, fixture_facts("F7", 8), &[1, 2]);
        floor.add_fixture(2, fixture_facts("F8", 8), &[3]);
        floor.add_part(1, None);
        floor.enter_order(Vec::new());
        floor.release(
            1,
            20,
            vec![operation(10, machining(&[1])), operation(20, machining(&[2]))],
        );
        floor
    }

    pub fn add_fixture(&mut self, number: u8, facts: FixtureFacts, copies: &[u8]) {
        let copies = copies.iter().map(|number| FixtureCopy {
            id: copy(*number),
            code: code(&format!("COPY-{number}")),
        });
        self.given.does(AddFixture {
            fixture: fixture(number),
            facts,
            copies: copies.collect(),
        });
    }

    pub fn add_part(&mut self, number: u8, mass_g: Option<u32>) {
        self.given.does(AddPart {
            part: part(number),
            code: code(&format!("PART-{number}")),
            name: name("Bracket"),
            revision: RevisionFacts {
                revision: code("A"),
                mass_g,
                size: None,
                blank: None,
            },
        });
    }

    /// A job of part 1 with this routing.
    pub fn release(&mut self, number: u8, pieces: u32, operations: Vec<Operation>) {
        self.release_of(1, number, pieces, operations);
    }

    pub fn release_of(&mut self, of: u8, number: u8, pieces: u32, operations: Vec<Operation>) {
        let released = Job::release(Release {
            job: job(number),
            order: OrderId(Uuid::from_u128(0x04de_0000)),
            line: u32::from(number),
            part: part(of),
            revision: code("A"),
            routing: Routing { operations }.into(),
            quantity: pieces,
            blanks: pieces,
            certificate: None,
            seq: self.given.seq(),
        });
        self.given.shop.jobs.insert(job(number), released);
        let meta = EntryMeta {
            seq: self.given.seq(),
            occurred_at: self.given.now,
            recorded_at: self.given.now,
            actor: Actor::System,
        };
        self.given.shop.book_work_of(&[job(number)], &meta);
    }

    /// The order's line of a job, whose material is expected on the 20th.
    pub fn waits_for_material(&mut self, number: u8, quantity: u32) {
        let material = Material {
            expected: "2026-11-20".parse().ok(),
            arrived: None,
        };
        let line = LineFacts {
            number: u32::from(number),
            part: part(1),
            revision: code("A"),
            quantity,
            due: "2026-12-18".parse().unwrap(),
            priority: Priority::Normal,
            material,
            quoted: Vec::new(),
        };
        self.enter_order(vec![line]);
    }

    fn enter_order(&mut self, lines: Vec<LineFacts>) {
        self.given.happened(OrderEntered {
            order: OrderId(Uuid::from_u128(0x04de_0000)),
            code: code("SO-1"),
            customer: None,
            reference: None,
            lines,
        });
    }

    pub fn at(&self) -> Timestamp {
        self.given.now
    }

    /// Time goes on.
    pub fn wait_s(&mut self, seconds: i64) -> &mut Self {
        self.given.now = self.given.now.plus_s(seconds);
        self
    }

    pub fn fresh(&mut self) -> u32 {
        self.next += 1;
        1_000 + self.next
    }

    /// Shifts from Monday to Friday, 06:00 to 14:00 with a break from 10:00 to 10:30, by the wall clock in Berlin.
    pub fn set_calendar(&mut self) -> &mut Self {
        let days = [
            Weekday::Mon,
            Weekday::Tue,
            Weekday::Wed,
            Weekday::Thu,
            Weekday::Fri,
        ];
        let time = |text: &str| text.parse::<TimeOfDay>().unwrap();
        let shifts = days.map(|weekday| WeeklyShift {
            name: name("Early"),
            weekday,
            starts: time("06:00"),
            ends: time("14:00"),
            breaks: vec![crate::calendar::Break {
                starts: time("10:00"),
                ends: time("10:30"),
            }],
        });
        self.given.does(SetSiteCalendar {
            valid_from: NaiveDate::from_ymd_opt(2026, 1, 1).unwrap(),
            calendar: Calendar::new(shifts.to_vec(), Vec::new()).unwrap(),
            expected: None,
        });
        self
    }

    /// 07:00 UTC on Monday 2026-11-02 is 08:00 in Berlin: within the shift of [`Floor::set_calendar`].
    pub fn at_shift(&mut self) -> &mut Self {
        self.given.now = at_s(3_600);
        self
    }

    pub fn set_tools(&mut self, number: u8, lives: &[u32]) -> &mut Self {
        self.given.does(SetMachineTools {
            machine: machine(number),
            tools: lives
                .iter()
                .map(|life| MachineTool {
                    tool: code("T12"),
                    life_left_s: *life,
                })
                .collect(),
            expected: None,
        });
        self
    }

    /// Mounts a copy of the fixture; the pallet must be at hand.
    pub fn set_up(&mut self, on: u8, of: u8) -> &mut Self {
        let setup = setup(self.fresh());
        let at = self.at();
        self.given
            .does(MountFixture {
                pallet: pallet(on),
                setup,
                fixture: fixture(of),
                copy: None,
                at,
            })
            .does(FinishSetup {
                pallet: pallet(on),
                at,
            });
        self
    }

    pub fn clamp(&mut self, on: u8, pieces: &[Clamped]) -> &mut Self {
        let load = load(self.fresh());
        let at = self.at();
        self.given.does(LoadPallet {
            pallet: pallet(on),
            load,
            clamped: pieces.to_vec(),
            at,
            overrides: Vec::new(),
        });
        self
    }

    pub fn move_to(&mut self, what: u8, to: Position) -> &mut Self {
        let at = self.at();
        self.given.does(MovePallet {
            pallet: pallet(what),
            to,
            exchange: false,
            at,
        });
        self
    }

    pub fn start(&mut self, on: u8, number: u32) -> &mut Self {
        let command = start(on, number, self.at());
        self.given.does(command);
        self
    }

    pub fn finish(&mut self, number: u32) -> &mut Self {
        let command = finish(number, self.at());
        self.given.does(command);
        self
    }

    /// For an alarm.
    pub fn pause(&mut self, number: u32) -> &mut Self {
        let (run, at, reason) = (run(number), self.at(), PauseReason::Alarm);
        self.given.does(PauseRun { run, at, reason });
        self
    }

    pub fn resume(&mut self, number: u32) -> &mut Self {
        let (run, at) = (run(number), self.at());
        self.given.does(ResumeRun { run, at });
        self
    }

    /// Pallet 2 at load station 1 with 4 pieces of job 1, operation 10; pallet 1 makes room.
    pub fn second_loaded(&mut self) -> &mut Self {
        if self.given.shop.pallets.get(&pallet(1)).unwrap().position == LOAD_STATION {
            self.move_to(1, Position::LoadStation { number: 2 });
        }
        self.move_to(2, LOAD_STATION)
            .set_up(2, 1)
            .clamp(2, &[pieces(1, 10, 4)])
    }

    /// A piece that operation 10 gave is clamped for operation 20, in its own fixture.
    pub fn clamp_next(&mut self, on: u8) -> &mut Self {
        let (pallet, at) = (pallet(on), self.at());
        self.given.does(crate::floor::UnmountFixture { pallet, at });
        self.set_up(on, 2).clamp(on, &[pieces(1, 20, 1)])
    }

    pub fn queue(&mut self, pallets: &[u8]) -> &mut Self {
        self.given.does(SetQueue {
            cell: cell(1),
            pallets: pallets.iter().map(|number| pallet(*number)).collect(),
            expected: None,
        });
        self
    }

    /// Pallet 1 at load station 1, set up with fixture 1 and loaded with 8 pieces of job 1, operation 10.
    pub fn loaded() -> Self {
        let mut floor = Self::new();
        floor.set_up(1, 1).clamp(1, &[pieces(1, 10, 8)]);
        floor
    }

    /// The same at the spindle of machine 1.
    pub fn at_spindle() -> Self {
        let mut floor = Self::loaded();
        floor.move_to(1, spindle(1));
        floor
    }

    /// Run 1 is open.
    pub fn running() -> Self {
        let mut floor = Self::at_spindle();
        floor.start(1, 1);
        floor
    }

    /// Run 1 has ended and the pallet is back at load station 1.
    pub fn cut() -> Self {
        let mut floor = Self::running();
        floor.wait_s(600).finish(1).move_to(1, LOAD_STATION);
        floor
    }
}

pub fn pieces(of: u8, operation: u16, pieces: u32) -> Clamped {
    Clamped {
        job: job(of),
        operation,
        pieces,
        rework: false,
    }
}

pub fn start(on: u8, number: u32, at: Timestamp) -> StartRun {
    StartRun {
        run: run(number),
        machine: machine(on),
        pallet: None,
        purpose: None,
        at,
        overrides: Vec::new(),
    }
}

/// All of the hold; with a word why.
pub fn dispose(number: u32, disposition: Disposition, at: Timestamp) -> DisposeHold {
    DisposeHold {
        hold: hold(number),
        disposition,
        pieces: Vec::new(),
        revision: None,
        reference: None,
        at,
        note: (disposition != Disposition::Accept).then(|| note("Bore 12.06, drawing 12.00 +0.02")),
    }
}

pub fn note(text: &str) -> NoteRef {
    NoteRef::new(TextId(Uuid::from_u128(0x7e47)), &[7; 16], text)
}

/// Somebody doubts what is on the pallet.
pub fn suspect(on: u8, number: u32, at: Timestamp) -> PlaceHold {
    PlaceHold {
        pallet: pallet(on),
        hold: hold(number),
        kind: HoldKind::Suspect,
        at,
        note: None,
    }
}

pub fn finish(number: u32, at: Timestamp) -> FinishRun {
    FinishRun {
        run: run(number),
        at,
        hold: hold(number),
    }
}

pub fn good(of: u8, operation: u16, pieces: u32) -> Count {
    Count {
        job: job(of),
        operation,
        rework: false,
        good: pieces,
        scrapped: 0,
        to_rework: 0,
        to_inspection: 0,
        uncut: 0,
    }
}

pub fn unload(from: u8, counts: &[Count], at: Timestamp) -> UnloadPallet {
    UnloadPallet {
        pallet: pallet(from),
        counts: counts.to_vec(),
        at,
        note: None,
    }
}

/// How many pieces of a job are in which pile, by operation.
pub fn piles_of_job(shop: &crate::shop::Shop, of: JobId) -> Vec<(u16, &'static str, u32)> {
    let job = shop.jobs.get(&of).unwrap();
    let of_operation = |at: &AtOperation| {
        [
            (at.number, "waiting", at.waiting()),
            (at.number, "clamped", at.clamped),
            (at.number, "to inspection", at.inspection),
            (at.number, "good", at.good),
            (at.number, "scrapped", at.scrapped),
            (at.number, "to rework", at.rework),
        ]
    };
    job.operations.iter().flat_map(of_operation).collect()
}
