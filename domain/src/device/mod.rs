//! Enrolled tablets, and who is badged in on them. A tablet is a client with the role `device`; what is tapped on it is
//! done by the person whose badge it carries.

mod apply;
mod aside;
mod command;
mod decide;
mod event;
mod refusal;
#[cfg(test)]
mod tests;

pub(crate) use apply::{apply, end_badges_of};
pub use aside::{ActPlaced, ActSetAside, PlaceAct, SetActAside, placeable};
pub use command::{BeginBadge, EndBadge, ReportContact, SetPin, UnlockPin};
pub(crate) use decide::decide;
pub use event::{BadgeBegun, BadgeEnded, DeliveredAct, DeviceContacted, PinSet, PinUnlocked};
pub use refusal::{BadgeRefusal, DeviceRefusal};

use crate::ids::{BadgeId, PrincipalId, Seq};
use crate::machine::CLOCK_OFFSET_MIN_US;
use crate::time::Timestamp;
use serde::{Deserialize, Serialize};

/// Long enough for a change of pallets, short enough that nobody acts in the name of who went home.
pub const BADGE_LIFETIME_S: i64 = 900;
/// A tablet that was off line delivers within days; what it kept for longer than this is told by a person.
pub const BADGE_KEPT_S: i64 = 14 * 86_400;
/// What one delivery takes.
pub const ACTS_MAX: usize = 500;

/// More than a tablet with a dead clock taps until somebody looks.
pub const SET_ASIDE_MAX: usize = 2_000;

/// Somebody on a tablet, for a stretch of time. What was tapped within it is theirs, whenever it arrives.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Badge {
    pub id: BadgeId,
    pub device: PrincipalId,
    pub person: PrincipalId,
    pub since: Timestamp,
    pub until: Timestamp,
    /// Dropped out before that, or was sent away.
    pub ended_at: Option<Timestamp>,
    /// Begun while the tablet reached nobody, and confirmed by the PIN afterwards.
    pub claimed: bool,
    pub changed_seq: Seq,
}

impl Badge {
    pub fn ends_at(&self) -> Timestamp {
        self.ended_at.map_or(self.until, |ended| ended.min(self.until))
    }

    pub fn is_live(&self, now: Timestamp) -> bool {
        self.ended_at.is_none() && now < self.until
    }

    /// Whether the person was badged in then.
    pub fn covers(&self, at: Timestamp) -> bool {
        self.since <= at && at <= self.ends_at()
    }
}

/// What is known of a tablet beside its being a client.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Device {
    pub id: PrincipalId,
    pub deliveries: u64,
    pub last: Contact,
}

/// What a tablet's clock read when it delivered, and when that arrived.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Contact {
    pub clock: Timestamp,
    pub received_at: Timestamp,
}

impl Contact {
    /// By so much its clock is fast.
    pub fn offset_us(&self) -> i64 {
        self.clock.since_us(self.received_at)
    }

    /// What a right clock would have shown. Every act of a delivery moves by the same, so that lengths stay what they
    /// were; an offset that may be the message's way moves nothing.
    pub fn corrected(&self, device_time: Timestamp) -> Timestamp {
        let offset_us = self.offset_us();
        if offset_us.abs() < CLOCK_OFFSET_MIN_US {
            device_time
        } else {
            device_time.plus_us(-offset_us)
        }
    }
}

/// An act that waits for its time.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct SetAside {
    pub act: ActSetAside,
    /// Its place among the others.
    pub seq: Seq,
}

/// The commands of this topic, as a pattern.
macro_rules! device_commands {
    () => {
        Command::BeginBadge(_)
            | Command::EndBadge(_)
            | Command::ReportContact(_)
            | Command::SetPin(_)
            | Command::UnlockPin(_)
            | Command::SetActAside(_)
            | Command::PlaceAct(_)
    };
}
pub(crate) use device_commands;

macro_rules! device_events {
    () => {
        Event::BadgeBegun(_)
            | Event::BadgeEnded(_)
            | Event::DeviceContacted(_)
            | Event::PinSet(_)
            | Event::PinUnlocked(_)
            | Event::ActSetAside(_)
            | Event::ActPlaced(_)
    };
}
pub(crate) use device_events;
