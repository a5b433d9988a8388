//! Given events, when a command, then events or a refusal: the form of the rules' tests.

use super::Shop;
use crate::actor::Actor;
use crate::code::{Code, Name};
use crate::command::{Command, Context};
use crate::entry::EntryMeta;
use crate::event::Event;
use crate::ids::{CellId, MachineId, PlanId, PrincipalId, Seq, SiteId};
use crate::refusal::Refusal;
use crate::site::SiteOpened;
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
        stretches: StretchDays::default(),
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
        self.shop.apply(&event, &meta);
        self.stretches.apply(&event, &meta);
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
