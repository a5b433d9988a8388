//! What a machine says about itself: the values of `MTConnect`'s EXECUTION, and OFF.

use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

#[cfg(test)]
mod tests;

/// A machine's state. The order of declaration is the stored code: new states go to the end.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "SCREAMING_SNAKE_CASE")]
#[repr(u8)]
pub enum MachineState {
    Unavailable = 0,
    Ready = 1,
    Active = 2,
    Interrupted = 3,
    FeedHold = 4,
    Stopped = 5,
    OptionalStop = 6,
    ProgramStopped = 7,
    ProgramCompleted = 8,
    Wait = 9,
    /// Deprecated since `MTConnect` 1.4, and still sent.
    ProgramOptionalStop = 10,
    /// Not of `MTConnect`: the device says that the machine is switched off.
    Off = 11,
}

/// What a state means for the hours.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Meaning {
    InCycle,
    StoppedInRun,
    NothingRuns,
    Off,
    NotKnown,
}

#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "{given:?} is not a machine state; accepted, in exactly this spelling: {}",
    MachineState::accepted()
)]
pub struct UnknownMachineState {
    pub given: String,
}

impl MachineState {
    pub const ALL: [Self; 12] = [
        Self::Unavailable,
        Self::Ready,
        Self::Active,
        Self::Interrupted,
        Self::FeedHold,
        Self::Stopped,
        Self::OptionalStop,
        Self::ProgramStopped,
        Self::ProgramCompleted,
        Self::Wait,
        Self::ProgramOptionalStop,
        Self::Off,
    ];

    /// Takes the exact upper-case names only: a near miss is more likely another signal than a typing error.
    pub fn parse(name: &str) -> Result<Self, UnknownMachineState> {
        let found = Self::ALL.into_iter().find(|state| state.name() == name);
        // A refusal never repeats more of a bad input than a person can read.
        found.ok_or_else(|| UnknownMachineState {
            given: name.chars().take(40).collect(),
        })
    }

    pub const fn name(self) -> &'static str {
        match self {
            Self::Unavailable => "UNAVAILABLE",
            Self::Ready => "READY",
            Self::Active => "ACTIVE",
            Self::Interrupted => "INTERRUPTED",
            Self::FeedHold => "FEED_HOLD",
            Self::Stopped => "STOPPED",
            Self::OptionalStop => "OPTIONAL_STOP",
            Self::ProgramStopped => "PROGRAM_STOPPED",
            Self::ProgramCompleted => "PROGRAM_COMPLETED",
            Self::Wait => "WAIT",
            Self::ProgramOptionalStop => "PROGRAM_OPTIONAL_STOP",
            Self::Off => "OFF",
        }
    }

    /// The number under which the state is stored. It never changes.
    pub const fn code(self) -> u8 {
        self as u8
    }

    pub fn from_code(code: u8) -> Option<Self> {
        Self::ALL.get(usize::from(code)).copied()
    }

    pub const fn meaning(self) -> Meaning {
        match self {
            Self::Active => Meaning::InCycle,
            Self::Interrupted
            | Self::FeedHold
            | Self::OptionalStop
            | Self::ProgramStopped
            | Self::ProgramOptionalStop
            | Self::Wait => Meaning::StoppedInRun,
            Self::Ready | Self::Stopped | Self::ProgramCompleted => Meaning::NothingRuns,
            Self::Off => Meaning::Off,
            Self::Unavailable => Meaning::NotKnown,
        }
    }

    fn accepted() -> String {
        Self::ALL.map(Self::name).join(", ")
    }
}

impl fmt::Display for MachineState {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

impl FromStr for MachineState {
    type Err = UnknownMachineState;

    fn from_str(name: &str) -> Result<Self, Self::Err> {
        Self::parse(name)
    }
}
