//! An act on the floor as it was told: what is kept of it until it can be booked.

use crate::command::Command;
use crate::floor::{
    AbortRun, Count, FinishRun, FinishSetup, LoadPallet, MountFixture, MovePallet, PauseRun, PlaceHold,
    ResumeRun, StartRun, UnloadPallet, UnmountFixture,
};
use crate::ids::{FixtureCopyId, FixtureId, HoldId, LoadId, MachineId, PalletId, RunId, SetupId};
use crate::load::{Clamped, HoldKind};
use crate::note::NoteRef;
use crate::pallet::Position;
use crate::run::{AbortReason, PauseReason, Purpose};
use crate::time::Timestamp;
use serde::{Deserialize, Serialize};

/// For each act: its name, the command that it would be if it were done now, and what of that command is kept of it.
macro_rules! acts {
    ($($variant:ident = $name:literal, $command:ident { $($field:ident: $type:ty),+ $(,)? } $(with $rest:ident)?;)+) => {
        /// Every act that somebody may tell of afterwards. Overrides are not among its facts: what happened against a rule
        /// is a deviation, whoever let it happen.
        #[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
        #[serde(rename_all = "snake_case", deny_unknown_fields)]
        pub enum Act {
            $($variant { $($field: $type),+ },)+
        }

        impl Act {
            pub const fn at(&self) -> Timestamp {
                match self { $(Self::$variant { at, .. } => *at,)+ }
            }

            /// The same act, at the time that somebody found to be the true one.
            #[must_use]
            pub fn told_at(mut self, told: Timestamp) -> Self {
                match &mut self { $(Self::$variant { at, .. } => *at = told,)+ }
                self
            }

            pub const fn name(&self) -> &'static str {
                match self { $(Self::$variant { .. } => $name,)+ }
            }

            /// What would be asked if it happened now.
            pub fn command(&self) -> Command {
                match self.clone() {
                    $(Self::$variant { $($field),+ } => $command { $($field,)+ $($rest: Vec::new(),)? }.into(),)+
                }
            }

            /// `None`: a command that is told of only while it is given.
            pub fn of(command: Command) -> Option<Self> {
                Some(match command {
                    $(Command::$command(one) => Self::$variant { $($field: one.$field),+ },)+
                    _ => return None,
                })
            }
        }
    };
}

acts! {
    Mount = "mount", MountFixture {
        pallet: PalletId, setup: SetupId, fixture: FixtureId, copy: Option<FixtureCopyId>, at: Timestamp,
    };
    FinishSetup = "finish_setup", FinishSetup { pallet: PalletId, at: Timestamp };
    Unmount = "unmount", UnmountFixture { pallet: PalletId, at: Timestamp };
    Load = "load", LoadPallet {
        pallet: PalletId, load: LoadId, clamped: Vec<Clamped>, at: Timestamp,
    } with overrides;
    Move = "move", MovePallet { pallet: PalletId, to: Position, exchange: bool, at: Timestamp };
    Start = "start", StartRun {
        run: RunId, machine: MachineId, pallet: Option<PalletId>, purpose: Option<Purpose>, at: Timestamp,
    } with overrides;
    Pause = "pause", PauseRun { run: RunId, at: Timestamp, reason: PauseReason };
    Resume = "resume", ResumeRun { run: RunId, at: Timestamp };
    Finish = "finish", FinishRun { run: RunId, at: Timestamp, hold: HoldId };
    Abort = "abort", AbortRun { run: RunId, at: Timestamp, reason: AbortReason, note: Option<NoteRef> };
    Unload = "unload", UnloadPallet {
        pallet: PalletId, counts: Vec<Count>, at: Timestamp, note: Option<NoteRef>,
    };
    Hold = "hold", PlaceHold {
        pallet: PalletId, hold: HoldId, kind: HoldKind, at: Timestamp, note: Option<NoteRef>,
    };
}

impl Act {
    pub const fn pallet(&self) -> Option<PalletId> {
        match self {
            Self::Mount { pallet, .. }
            | Self::FinishSetup { pallet, .. }
            | Self::Unmount { pallet, .. }
            | Self::Load { pallet, .. }
            | Self::Move { pallet, .. }
            | Self::Unload { pallet, .. }
            | Self::Hold { pallet, .. } => Some(*pallet),
            Self::Start { pallet, .. } => *pallet,
            Self::Pause { .. } | Self::Resume { .. } | Self::Finish { .. } | Self::Abort { .. } => None,
        }
    }

    pub const fn run(&self) -> Option<RunId> {
        match self {
            Self::Start { run, .. }
            | Self::Pause { run, .. }
            | Self::Resume { run, .. }
            | Self::Finish { run, .. }
            | Self::Abort { run, .. } => Some(*run),
            _ => None,
        }
    }

    pub const fn machine(&self) -> Option<MachineId> {
        match self {
            Self::Start { machine, .. } => Some(*machine),
            _ => None,
        }
    }
}
