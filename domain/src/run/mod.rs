//! Runs: one passage of a load through a spindle.

use crate::ids::{LoadId, MachineId, PalletId, RunId, Seq, SetupId};
use crate::load::Clamped;
use crate::time::{Timestamp, US_PER_SECOND};
use serde::{Deserialize, Serialize};

/// From its start until its load has been taken off and counted.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Run {
    pub id: RunId,
    pub machine: MachineId,
    pub pallet: PalletId,
    pub setup: SetupId,
    pub load: LoadId,
    /// What the load held when it started.
    pub clamped: Vec<Clamped>,
    pub purpose: Purpose,
    pub started_at: Timestamp,
    /// How long the programs take by the routing.
    pub cycle_s: u64,
    pub state: RunState,
    /// How long it stood, all pauses that have ended.
    pub stopped_us: i64,
    /// By the cell's calendar nobody was there when it started.
    pub unattended: bool,
    pub changed_seq: Seq,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RunState {
    Running,
    Paused { at: Timestamp, reason: PauseReason },
    Finished { at: Timestamp },
    Aborted { at: Timestamp, reason: AbortReason },
}

impl Run {
    /// It holds the spindle.
    pub const fn is_open(&self) -> bool {
        matches!(self.state, RunState::Running | RunState::Paused { .. })
    }

    pub const fn ended_at(&self) -> Option<Timestamp> {
        match self.state {
            RunState::Running | RunState::Paused { .. } => None,
            RunState::Finished { at } | RunState::Aborted { at, .. } => Some(at),
        }
    }

    /// How long it stood until `now`, a pause that lasts still included.
    pub const fn stopped_until_us(&self, now: Timestamp) -> i64 {
        match self.state {
            RunState::Paused { at, .. } => self.stopped_us + now.since_us(at),
            RunState::Running | RunState::Finished { .. } | RunState::Aborted { .. } => self.stopped_us,
        }
    }

    /// How long the spindle has been in cycle until `now`, or until its end.
    pub fn in_cycle_us(&self, now: Timestamp) -> i64 {
        let until = self.ended_at().unwrap_or(now);
        (until.since_us(self.started_at) - self.stopped_until_us(now)).max(0)
    }

    /// When it ends if it takes as long as planned and nobody stops it; not before `now`.
    pub fn ends_at(&self, now: Timestamp) -> Timestamp {
        let cycle_us = i64::try_from(self.cycle_s)
            .unwrap_or(i64::MAX)
            .saturating_mul(US_PER_SECOND);
        let planned = self
            .started_at
            .plus_us(cycle_us)
            .plus_us(self.stopped_until_us(now));
        planned.max(now)
    }
}

/// An enum whose values are spoken of by name, in payloads, answers and sentences alike.
macro_rules! named_values {
    ($($(#[$outer:meta])* pub enum $name:ident { $($(#[$doc:meta])* $value:ident = $text:literal),+ $(,)? })+) => {$(
        $(#[$outer])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
        pub enum $name {
            $($(#[$doc])* #[serde(rename = $text)] $value,)+
        }

        impl $name {
            pub const ALL: &'static [Self] = &[$(Self::$value),+];
            pub const NAMES: &'static [&'static str] = &[$($text),+];

            pub const fn as_str(self) -> &'static str {
                match self { $(Self::$value => $text,)+ }
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(self.as_str())
            }
        }
    )+};
}
pub(crate) use named_values;

named_values! {
    /// What a run is for. Each is counted apart from the others. The order is that of the marks in the store: new ones
    /// go to the end.
    pub enum Purpose {
        Production = "production",
        /// A program is tried out.
        ProveOut = "prove_out",
        /// Pieces that were cut before are put right.
        Rework = "rework",
        /// The setup is tried on one piece before more are cut.
        FirstPiece = "first_piece",
    }

    pub enum PauseReason {
        Alarm = "alarm",
        Tool = "tool",
        /// A piece is measured in the machine.
        Measuring = "measuring",
        /// For a person, material or a decision.
        Waiting = "waiting",
        Other = "other",
    }

    pub enum AbortReason {
        Alarm = "alarm",
        Tool = "tool",
        Program = "program",
        /// A piece sat wrong or came loose.
        Clamping = "clamping",
        Other = "other",
    }
}
