//! Given events, when a command, then events or a refusal: the form of the rules' tests.

use super::Shop;
use crate::actor::Actor;
use crate::cell::{AddCell, CellKind};
use crate::code::{Code, Name};
use crate::command::{Command, Context};
use crate::entry::EntryMeta;
use crate::event::Event;
use crate::fixture::{AddFixture, FixtureCopy, FixtureFacts};
use crate::ids::{
    CellId, CustomerId, FixtureCopyId, FixtureId, JobId, MachineId, OrderId, PalletId, PartId, PlanId,
    PrincipalId, Seq, SiteId, VendorId,
};
use crate::machine::{AddMachine, Placement};
use crate::pallet::{AddPallet, PalletFacts, Position};
use crate::part::{
    AddPart, CycleTime, Machining, Operation, Place, RevisionFacts, Routing, SetRouting, Work,
};
use crate::refusal::Refusal;
use crate::site::SiteOpened;
use crate::size::Size;
use crate::stretches::StretchDays;
use crate::time::Timestamp;
use uuid::Uuid;

/// 2026-11-02T06:00:00Z, a Monday. Tests count seconds from here.
pub const START: Timestamp = Timestamp(1_793_599_200_000_000);

pub fn at_s(seconds: i64) -> Timestamp {
    START.plus_s(seconds)
}

pub fn cell(number: u8) -> CellId {
    CellId(Uuid::from_u128(0xce11_0000 + u128::from(number)))
}

pub fn machine(number: u8) -> MachineId {
    MachineId(Uuid::from_u128(0x3ac4_0000 + u128::from(number)))
}

pub fn plan(number: u8) -> PlanId {
    PlanId(Uuid::from_u128(0x91a4_0000 + u128::from(number)))
}

pub fn principal(number: u8) -> PrincipalId {
    PrincipalId(Uuid::from_u128(0x9e45_0000 + u128::from(number)))
}

pub fn pallet(number: u8) -> PalletId {
    PalletId(Uuid::from_u128(0x9a11_0000 + u128::from(number)))
}

pub fn fixture(number: u8) -> FixtureId {
    FixtureId(Uuid::from_u128(0xf1f0_0000 + u128::from(number)))
}

pub fn copy(number: u8) -> FixtureCopyId {
    FixtureCopyId(Uuid::from_u128(0xf1fc_0000 + u128::from(number)))
}

pub fn part(number: u8) -> PartId {
    PartId(Uuid::from_u128(0x9a37_0000 + u128::from(number)))
}

pub fn customer(number: u8) -> CustomerId {
    CustomerId(Uuid::from_u128(0xc057_0000 + u128::from(number)))
}

pub fn order(number: u8) -> OrderId {
    OrderId(Uuid::from_u128(0x04de_0000 + u128::from(number)))
}

pub fn job(number: u8) -> JobId {
    JobId(Uuid::from_u128(0x0b00_0000 + u128::from(number)))
}

pub fn vendor(number: u8) -> VendorId {
    VendorId(Uuid::from_u128(0x7e4d_0000 + u128::from(number)))
}

pub const ROOM: Size = Size {
    length_mm: 500,
    width_mm: 500,
    height_mm: 600,
};

pub fn pallet_facts(text: &str) -> PalletFacts {
    PalletFacts {
        code: code(text),
        name: name("Pallet"),
        size: ROOM,
        mass_max_g: 500_000,
        interface: code("GRID-50"),
    }
}

pub fn fixture_facts(text: &str, nests: u32) -> FixtureFacts {
    FixtureFacts {
        code: code(text),
        name: name("Fixture"),
        interface: code("GRID-50"),
        nests,
        mount_s: 1_800,
        mass_g: Some(80_000),
        size: None,
    }
}

pub fn fixture_copy(number: u8, text: &str) -> FixtureCopy {
    FixtureCopy {
        id: copy(number),
        code: code(text),
    }
}

/// Operation 10 in cell 1 on any machine, with fixture 1: 6 pieces in 48 minutes.
pub fn machining() -> Machining {
    Machining {
        places: vec![Place {
            cell: cell(1),
            machines: Vec::new(),
            cycle: CycleTime::PerLoad { cycle_s: 2_880 },
            program: None,
            tools: Vec::new(),
            clearances: Vec::new(),
        }],
        fixtures: vec![fixture(1)],
        pieces_per_load: 6,
        load_s: 600,
        unload_s: 300,
        setup_sheet: None,
        first_piece: false,
        first_article: false,
    }
}

pub fn operation(number: u16, work: Work) -> Operation {
    Operation {
        number,
        name: name("Step"),
        work,
    }
}

/// A pool with two machines, two load stations, three stands and two pallets (both on stands), a fixture in two copies
/// and a part with one operation; cell 2 is a standalone machine, machine 3.
pub fn a_small_shop() -> Given {
    let mut given = an_open_site();
    given.does(AddCell {
        cell: cell(1),
        code: code("C1"),
        name: name("Pool"),
        kind: CellKind::Pool {
            load_stations: 2,
            stands: 3,
            exchange_s: 60,
        },
    });
    for number in 1..=3 {
        given.does(AddMachine {
            machine: machine(number),
            placement: if number < 3 {
                Placement::In(cell(1))
            } else {
                Placement::Standalone(cell(2))
            },
            code: code(&format!("M{number}")),
            name: name("Mill"),
            silent_after_s: None,
        });
    }
    for number in 1..=2 {
        given.does(AddPallet {
            pallet: pallet(number),
            cell: cell(1),
            facts: pallet_facts(&format!("P{number}")),
            position: Some(Position::Stand {
                number: u32::from(number),
            }),
        });
    }
    given
        .does(AddFixture {
            fixture: fixture(1),
            facts: fixture_facts("F1", 8),
            copies: vec![fixture_copy(1, "F1-1"), fixture_copy(2, "F1-2")],
        })
        .does(AddPart {
            part: part(1),
            code: code("4711"),
            name: name("Housing"),
            revision: RevisionFacts {
                revision: code("A"),
                mass_g: None,
                size: None,
                blank: None,
            },
        })
        .does(SetRouting {
            part: part(1),
            revision: code("A"),
            routing: Routing {
                operations: vec![operation(10, Work::Machining(machining()))],
            },
            expected: None,
        });
    given
}

pub fn code(text: &str) -> Code {
    text.parse().unwrap()
}

pub fn name(text: &str) -> Name {
    text.parse().unwrap()
}

/// A shop with a history, and the stretch rows that its writer would hold.
pub struct Given {
    pub shop: Shop,
    pub stretches: StretchDays,
    pub now: Timestamp,
}

/// An open site in Berlin where nothing else has happened.
pub fn an_open_site() -> Given {
    let mut given = Given {
        shop: Shop::default(),
        stretches: StretchDays::whole(),
        now: at_s(100 * 86_400),
    };
    let opened = SiteOpened {
        site: SiteId(Uuid::from_u128(1)),
        code: code("demo"),
        name: name("Invented shop"),
        zone: chrono_tz::Europe::Berlin,
    };
    given.happened(opened);
    given
}

impl Given {
    pub fn happened(&mut self, event: impl Into<Event>) -> &mut Self {
        let event = event.into();
        let meta = EntryMeta {
            seq: self.shop.seq + 1,
            occurred_at: self.now,
            recorded_at: self.now,
            actor: Actor::System,
        };
        let marks = self.shop.fold(&event, &meta);
        self.stretches.apply_marks(marks, &meta).unwrap();
        self
    }

    pub fn when(&self, command: impl Into<Command>) -> Result<Vec<Event>, Refusal> {
        self.decide(&command.into(), false)
    }

    pub fn decide(&self, command: &Command, login_taken: bool) -> Result<Vec<Event>, Refusal> {
        let context = Context {
            now: self.now,
            actor: Actor::System,
            login_taken,
            stretches: &self.stretches,
        };
        self.shop.decide(command, &context)
    }

    /// Decides and folds in what came of it.
    pub fn does(&mut self, command: impl Into<Command>) -> &mut Self {
        for event in self.when(command).unwrap() {
            self.happened(event);
        }
        self
    }

    pub fn seq(&self) -> Seq {
        self.shop.seq
    }
}

/// The code of the refusal.
pub fn refused(outcome: Result<Vec<Event>, Refusal>) -> &'static str {
    outcome.unwrap_err().code()
}
