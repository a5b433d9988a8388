//! Shops made from a seed, for tests: cells, pallets, fixtures, tools, calendars, jobs at all stages of their way.

use crate::actor::Actor;
use crate::calendar::{Break, Calendar, WeeklyShift};
use crate::cell::{AddCell, CellKind};
use crate::entry::EntryMeta;
use crate::fixture::{AddFixture, FixtureCopy, FixtureFacts};
use crate::floor::{FinishRun, FinishSetup, LoadPallet, MountFixture, MovePallet, StartRun, UnmountFixture};
use crate::ids::{
    FixtureCopyId, FixtureId, HoldId, JobId, LoadId, OrderId, PalletId, PartId, RunId, SetupId,
};
use crate::job::{Job, Release};
use crate::load::Clamped;
use crate::machine::{AddMachine, MachineTool, Placement, SetMachineTools};
use crate::order::{LineFacts, Material, OrderEntered, Priority};
use crate::pallet::{AddPallet, Position};
use crate::part::{
    AddPart, Clearance, CycleTime, Lead, Machining, Manual, Operation, Place, RevisionFacts, Routing,
    ToolUse, Work,
};
use crate::plan::schedule::ScheduledLoad;
use crate::plan::search::Dice;
use crate::shop::given::{Given, an_open_site, cell, code, machine, name, pallet_facts};
use crate::site::{Headcount, People, SetSitePeople};
use crate::time::Timestamp;
use chrono::{NaiveDate, Weekday};
use uuid::Uuid;

pub const WEEKDAYS: [Weekday; 5] = [
    Weekday::Mon,
    Weekday::Tue,
    Weekday::Wed,
    Weekday::Thu,
    Weekday::Fri,
];

/// Two shifts a day from Monday to Friday with a break each.
pub fn two_shifts() -> Calendar {
    let shift = |weekday, title: &str, from: &str, to: &str, pause: (&str, &str)| WeeklyShift {
        name: name(title),
        weekday,
        starts: from.parse().unwrap(),
        ends: to.parse().unwrap(),
        breaks: vec![Break {
            starts: pause.0.parse().unwrap(),
            ends: pause.1.parse().unwrap(),
        }],
    };
    let shifts = WEEKDAYS.into_iter().flat_map(|day| {
        [
            shift(day, "Early", "06:00", "14:00", ("10:00", "10:30")),
            shift(day, "Late", "14:00", "22:00", ("18:00", "18:30")),
        ]
    });
    Calendar::new(shifts.collect(), Vec::new()).unwrap()
}

pub fn one_shift(from: &str, to: &str) -> Calendar {
    let shifts = WEEKDAYS.map(|weekday| WeeklyShift {
        name: name("Day"),
        weekday,
        starts: from.parse().unwrap(),
        ends: to.parse().unwrap(),
        breaks: Vec::new(),
    });
    Calendar::new(shifts.to_vec(), Vec::new()).unwrap()
}

macro_rules! numbered {
    ($($name:ident: $id:ident = $base:literal;)+) => {$(
        pub fn $name(number: usize) -> $id {
            $id(Uuid::from_u128($base + number as u128))
        }
    )+};
}

numbered! {
    pallet: PalletId = 0x9a11_0000;
    fixture: FixtureId = 0xf1c5_0000;
    copy: FixtureCopyId = 0xc099_0000;
    part: PartId = 0x9a47_0000;
    job: JobId = 0x0b0b_0000;
    order: OrderId = 0x04de_0000;
    setup: SetupId = 0x5e70_0000;
    run: RunId = 0x4074_0000;
    load: LoadId = 0x10ad_0000;
    hold: HoldId = 0x401d_0000;
}

/// A shop that is put together by hand.
pub struct Bench {
    pub given: Given,
}

impl Bench {
    pub fn new(calendar: Option<Calendar>) -> Self {
        let mut given = an_open_site();
        if let Some(calendar) = calendar {
            let first = NaiveDate::from_ymd_opt(2026, 1, 1).unwrap();
            given.does(crate::site::SetSiteCalendar {
                valid_from: first,
                calendar,
                expected: None,
            });
        }
        Self { given }
    }

    pub fn at(&mut self, text: &str) -> &mut Self {
        let at = chrono::DateTime::parse_from_rfc3339(text).unwrap();
        self.given.now = Timestamp::from_utc(at.to_utc());
        self
    }

    /// Cell `number` with its machines, as many pallets on its stands and load stations.
    pub fn pool(
        &mut self,
        number: u8,
        machines: &[u8],
        pallets: &[usize],
        stations: u32,
        stands: u32,
    ) -> &mut Self {
        self.given.does(AddCell {
            cell: cell(number),
            code: code(&format!("C{number}")),
            name: name("Pool"),
            kind: CellKind::Pool {
                load_stations: stations,
                stands,
                exchange_s: 180,
            },
        });
        for one in machines {
            self.given.does(AddMachine {
                machine: machine(*one),
                placement: Placement::In(cell(number)),
                code: code(&format!("M{one}")),
                name: name("Mill"),
                silent_after_s: None,
            });
        }
        for (place, one) in pallets.iter().enumerate() {
            let place = u32::try_from(place).unwrap() + 1;
            let position = if place <= stands {
                Position::Stand { number: place }
            } else if place <= stands + stations {
                Position::LoadStation {
                    number: place - stands,
                }
            } else {
                Position::Spindle {
                    machine: machine(machines[(place - stands - stations) as usize - 1]),
                }
            };
            self.given.does(AddPallet {
                pallet: pallet(*one),
                cell: cell(number),
                facts: pallet_facts(&format!("P{one:02}")),
                position: Some(position),
            });
        }
        self
    }

    pub fn fixture(&mut self, number: usize, nests: u32, mount_s: u32, copies: &[usize]) -> &mut Self {
        self.given.does(AddFixture {
            fixture: fixture(number),
            facts: FixtureFacts {
                code: code(&format!("F{number}")),
                name: name("Fixture"),
                interface: code("GRID-50"),
                nests,
                mount_s,
                mass_g: None,
                size: None,
            },
            copies: copies
                .iter()
                .map(|number| FixtureCopy {
                    id: copy(*number),
                    code: code(&format!("COPY-{number}")),
                })
                .collect(),
        });
        self
    }

    /// A job that is a line of its own order.
    pub fn job(&mut self, number: usize, pieces: u32, due: &str, operations: Vec<Operation>) -> &mut Self {
        self.line(
            number,
            pieces,
            due,
            Priority::Normal,
            Material {
                expected: None,
                arrived: Some(crate::order::Arrived {
                    at: self.given.now,
                    certificate: None,
                }),
            },
        );
        self.release(number, pieces, operations)
    }

    pub fn line(
        &mut self,
        number: usize,
        pieces: u32,
        due: &str,
        priority: Priority,
        material: Material,
    ) -> &mut Self {
        if self.given.shop.parts.get(&part(1)).is_none() {
            self.given.does(AddPart {
                part: part(1),
                code: code("4711"),
                name: name("Housing"),
                revision: RevisionFacts {
                    revision: code("A"),
                    mass_g: None,
                    size: None,
                    blank: None,
                },
            });
        }
        self.given.happened(OrderEntered {
            order: order(number),
            code: code(&format!("SO-{number}")),
            customer: None,
            reference: None,
            lines: vec![LineFacts {
                number: 1,
                part: part(1),
                revision: code("A"),
                quantity: pieces,
                due: due.parse().unwrap(),
                priority,
                material,
                quoted: Vec::new(),
            }],
        });
        self
    }

    pub fn release(&mut self, number: usize, pieces: u32, operations: Vec<Operation>) -> &mut Self {
        let released = Job::release(Release {
            job: job(number),
            order: order(number),
            line: 1,
            part: part(1),
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
        self
    }

    pub fn tools(&mut self, number: u8, tools: &[(&str, u32)]) -> &mut Self {
        let tool = |(tool, life_left_s): &(&str, u32)| MachineTool {
            tool: code(tool),
            life_left_s: *life_left_s,
        };
        self.given.does(SetMachineTools {
            machine: machine(number),
            tools: tools.iter().map(tool).collect(),
            expected: None,
        });
        self
    }

    pub fn people(&mut self, headcount: &[(&str, u32)], inspectors: Option<Calendar>) -> &mut Self {
        let headcount = headcount.iter().map(|(shift, people)| Headcount {
            shift: name(shift),
            people: *people,
        });
        self.given.does(SetSitePeople {
            people: People {
                headcount: headcount.collect(),
                inspectors,
            },
            expected: None,
        });
        self
    }

    /// A copy of the fixture is on the pallet already, for a load that came before.
    pub fn mounted(&mut self, on: usize, of: usize, which: usize) -> &mut Self {
        let at = self.given.now;
        self.given.shop.pallets.update(&pallet(on), |pallet| {
            pallet.setup = Some(crate::pallet::Setup {
                id: setup(on),
                fixture: fixture(of),
                copy: copy(which),
                started_at: at,
                ended_at: Some(at),
                first_load: Some(load(9_000 + on)),
            });
        });
        self
    }

    pub fn clamped(&mut self, on: usize, of: usize, operation: u16, pieces: u32) -> &mut Self {
        let at = self.given.now;
        self.given.does(crate::floor::LoadPallet {
            pallet: pallet(on),
            load: load(on),
            clamped: vec![Clamped {
                job: job(of),
                operation,
                pieces,
                rework: false,
            }],
            at,
            overrides: Vec::new(),
        });
        self
    }
}

/// In cell 1, on any machine, in this fixture: so many pieces a load in so many seconds; not cleared.
pub fn milling(fixture_number: usize, pieces_per_load: u32, cycle_s: u32) -> Machining {
    Machining {
        places: vec![Place {
            cell: cell(1),
            machines: Vec::new(),
            cycle: CycleTime::PerLoad { cycle_s },
            program: None,
            tools: Vec::new(),
            clearances: Vec::new(),
        }],
        fixtures: vec![fixture(fixture_number)],
        pieces_per_load,
        load_s: 600,
        unload_s: 300,
        setup_sheet: None,
        first_piece: false,
        first_article: false,
    }
}

pub fn cleared(mut machining: Machining, machines: &[u8]) -> Machining {
    for place in &mut machining.places {
        place.clearances = machines
            .iter()
            .map(|number| Clearance {
                machine: machine(*number),
                checklist: Vec::new(),
            })
            .collect();
    }
    machining
}

pub fn operation(number: u16, work: Machining) -> Operation {
    Operation {
        number,
        name: name("Milling"),
        work: Work::Machining(work),
    }
}

pub fn manual(number: u16, lead: Lead) -> Operation {
    Operation {
        number,
        name: name("Deburr"),
        work: Work::Manual(Manual { lead, vendor: None }),
    }
}

/// A whole shop: `loads` is about how many loads there are to cut.
pub fn shop(seed: u64, loads: usize) -> Given {
    let mut dice = Dice::new(seed, 7);
    let mut bench = Bench::new(Some(two_shifts()));
    // Monday 2026-11-02, some time between 00:00 and 24:00 UTC, to the microsecond.
    let past_s = i64::try_from(dice.below(86_400)).unwrap();
    bench.given.now =
        crate::shop::given::at_s(past_s - 6 * 3_600).plus_us(i64::try_from(dice.below(1_000_000)).unwrap());
    let cells = 1 + dice.below(2);
    let pallets_each = 3 + dice.below(5);
    for number in 1..=cells {
        let machines: Vec<u8> = (0..=dice.below(2))
            .map(|one| u8::try_from(number * 10 + one).unwrap())
            .collect();
        let pallets: Vec<usize> = (0..pallets_each).map(|one| number * 20 + one).collect();
        let (places, stations) = (pallets.len(), 1 + dice.below(2));
        let full = dice.per_mille(300) && places > stations;
        let stands = if full { places - stations - 1 } else { places };
        bench.pool(
            u8::try_from(number).unwrap(),
            &machines,
            &pallets,
            u32::try_from(stations).unwrap(),
            u32::try_from(stands).unwrap(),
        );
        for one in machines {
            if dice.per_mille(500) {
                bench.tools(one, &[("T1", 40_000), ("T1", 30_000), ("T2", 90_000)]);
            }
        }
    }
    for number in 1..=4 {
        let copies: Vec<usize> = (0..=dice.below(2)).map(|one| number * 10 + one).collect();
        bench.fixture(
            number,
            4,
            900 + 300 * u32::try_from(dice.below(4)).unwrap(),
            &copies,
        );
    }
    let people = 1 + u32::try_from(dice.below(3)).unwrap();
    let inspectors = dice.per_mille(500).then(|| one_shift("07:00", "15:00"));
    bench.people(&[("Early", people), ("Late", 1)], inspectors);
    let mut sum = 0;
    let mut number = 1;
    while sum < loads {
        let operations: Vec<_> = (1..=1 + u16::try_from(dice.below(3)).unwrap())
            .map(|step| an_operation(&mut dice, step * 10, cells, loads))
            .collect();
        let pieces = 1 + u32::try_from(dice.below(16)).unwrap();
        sum += operations
            .iter()
            .filter(|one| matches!(one.work, Work::Machining(_)))
            .count()
            * pieces.div_ceil(4) as usize;
        let due = NaiveDate::from_ymd_opt(2026, 10, 30).unwrap() + chrono::Days::new(dice.below(20) as u64);
        let priority = [Priority::Normal, Priority::Rush, Priority::Fill][dice.below(3)];
        let arrived = dice.per_mille(800).then_some(crate::order::Arrived {
            at: bench.given.now,
            certificate: None,
        });
        let expected = (arrived.is_none() && dice.per_mille(700)).then(|| "2026-11-05".parse().unwrap());
        bench.line(
            number,
            pieces,
            &due.to_string(),
            priority,
            Material { expected, arrived },
        );
        bench.release(number, pieces, operations);
        number += 1;
    }
    bench.given
}

fn an_operation(dice: &mut Dice, number: u16, cells: usize, loads: usize) -> Operation {
    if number > 10 && dice.per_mille(150) {
        let lead = if dice.per_mille(500) {
            Lead::StaffedTime { lead_s: 7_200 }
        } else {
            Lead::WorkingDays { lead_days: 2 }
        };
        return manual(number, lead);
    }
    let in_cell = 1 + dice.below(cells);
    let cycle_s = 600 + 300 * u32::try_from(dice.below(30)).unwrap();
    let mut machining = milling(1 + dice.below(4), 4, cycle_s);
    let tool = if dice.per_mille(500) { "T1" } else { "T2" };
    machining.places = (1..=cells)
        .filter(|number| *number == in_cell || dice.per_mille(200))
        .map(|number| Place {
            cell: cell(u8::try_from(number).unwrap()),
            tools: vec![ToolUse {
                tool: code(tool),
                used_s_per_load: u32::try_from(1 + 60_000 / (loads + 20)).unwrap(),
            }],
            ..machining.places[0].clone()
        })
        .collect();
    machining.first_article = dice.per_mille(250);
    machining.first_piece = dice.per_mille(250);
    let clear = dice.per_mille(600);
    let machining = if clear {
        cleared(machining, &[10, 11, 20, 21])
    } else {
        machining
    };
    operation(number, machining)
}

/// The same shop some hours later: pallets are set up, loaded, in the spindle, cut, held, as a plan had them.
pub fn shop_at_work(seed: u64, loads: usize) -> Given {
    let mut given = shop(seed, loads);
    let mut dice = Dice::new(seed, 8);
    let site = given.shop.site.clone().unwrap();
    let options = crate::plan::model::PlanOptions::default();
    let effort = crate::plan::schedule::Effort::of_iterations(100, seed);
    let plan = crate::plan::schedule::compute(&given.shop, &site, &options, given.now, effort).unwrap();
    let mut first: Vec<_> = plan.loads.iter().filter(|load| load.load.is_some()).collect();
    first.sort_by_key(|load| load.load.map(|load| load.from));
    for (number, planned) in first.into_iter().take(2 + dice.below(8)).enumerate() {
        given.now = given.now.max(planned.load.map_or(given.now, |load| load.to));
        work_on(&mut given, planned, number, &mut dice);
    }
    given.now = given.now.plus_s(i64::try_from(dice.below(3_000)).unwrap());
    given
}

fn work_on(given: &mut Given, planned: &ScheduledLoad, number: usize, dice: &mut Dice) {
    if !set_up(given, planned, number, dice) {
        return;
    }
    let load = LoadPallet {
        pallet: planned.pallet,
        load: load(number),
        clamped: planned.clamped.clone(),
        at: given.now,
        overrides: Vec::new(),
    };
    may(given, load);
    if dice.per_mille(700) {
        cut(given, planned, number, dice);
    }
}

/// Whether the setup has been finished.
fn set_up(given: &mut Given, planned: &ScheduledLoad, number: usize, dice: &mut Dice) -> bool {
    let (on, at) = (planned.pallet, given.now);
    bring(given, on, Position::LoadStation { number: 1 });
    if let (Some(fixture), Some(copy), true) = (planned.fixture, planned.copy, planned.mount.is_some()) {
        may(given, UnmountFixture { pallet: on, at });
        let mount = MountFixture {
            pallet: on,
            setup: setup(500 + number),
            fixture,
            copy: Some(copy),
            at,
        };
        may(given, mount);
        if dice.per_mille(150) {
            return false;
        }
        may(given, FinishSetup { pallet: on, at });
    }
    true
}

fn cut(given: &mut Given, planned: &ScheduledLoad, number: usize, dice: &mut Dice) {
    let Some(machine) = planned.machine else { return };
    bring(given, planned.pallet, Position::Spindle { machine });
    if dice.per_mille(200) {
        return;
    }
    given.now = given.now.plus_s(60);
    let start = StartRun {
        run: run(number),
        machine,
        pallet: None,
        purpose: None,
        at: given.now,
        overrides: Vec::new(),
    };
    may(given, start);
    if dice.per_mille(600) {
        given.now = planned.run.map_or(given.now, |run| given.now.plus_us(run.us()));
        let finish = FinishRun {
            run: run(number),
            at: given.now,
            hold: hold(number),
        };
        may(given, finish);
    }
}

/// Against whatever stands there.
fn bring(given: &mut Given, pallet: PalletId, to: Position) {
    for exchange in [true, false] {
        let at = given.now;
        let there = MovePallet {
            pallet,
            to,
            exchange,
            at,
        };
        may(given, there);
    }
}

/// Does it if no rule forbids it.
fn may(given: &mut Given, command: impl Into<crate::command::Command>) {
    for event in given.when(command).unwrap_or_default() {
        given.happened(event);
    }
}
