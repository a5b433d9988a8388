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

/// Every act that somebody may tell of afterwards. Overrides are not among its facts: what happened against a rule is a
/// deviation, whoever let it happen.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Act {
    Mount {
        pallet: PalletId,
        setup: SetupId,
        fixture: FixtureId,
        copy: Option<FixtureCopyId>,
        at: Timestamp,
    },
    FinishSetup {
        pallet: PalletId,
        at: Timestamp,
    },
    Unmount {
        pallet: PalletId,
        at: Timestamp,
    },
    Load {
        pallet: PalletId,
        load: LoadId,
        clamped: Vec<Clamped>,
        at: Timestamp,
    },
    Move {
        pallet: PalletId,
        to: Position,
        exchange: bool,
        at: Timestamp,
    },
    Start {
        run: RunId,
        machine: MachineId,
        pallet: Option<PalletId>,
        purpose: Option<Purpose>,
        at: Timestamp,
    },
    Pause {
        run: RunId,
        at: Timestamp,
        reason: PauseReason,
    },
    Resume {
        run: RunId,
        at: Timestamp,
    },
    Finish {
        run: RunId,
        at: Timestamp,
        hold: HoldId,
    },
    Abort {
        run: RunId,
        at: Timestamp,
        reason: AbortReason,
        note: Option<NoteRef>,
    },
    Unload {
        pallet: PalletId,
        counts: Vec<Count>,
        at: Timestamp,
        note: Option<NoteRef>,
    },
    Hold {
        pallet: PalletId,
        hold: HoldId,
        kind: HoldKind,
        at: Timestamp,
        note: Option<NoteRef>,
    },
}

impl Act {
    pub const fn at(&self) -> Timestamp {
        match self {
            Self::Mount { at, .. }
            | Self::FinishSetup { at, .. }
            | Self::Unmount { at, .. }
            | Self::Load { at, .. }
            | Self::Move { at, .. }
            | Self::Start { at, .. }
            | Self::Pause { at, .. }
            | Self::Resume { at, .. }
            | Self::Finish { at, .. }
            | Self::Abort { at, .. }
            | Self::Unload { at, .. }
            | Self::Hold { at, .. } => *at,
        }
    }

    /// The same act, at the time that somebody found to be the true one.
    #[must_use]
    pub fn told_at(mut self, told: Timestamp) -> Self {
        match &mut self {
            Self::Mount { at, .. }
            | Self::FinishSetup { at, .. }
            | Self::Unmount { at, .. }
            | Self::Load { at, .. }
            | Self::Move { at, .. }
            | Self::Start { at, .. }
            | Self::Pause { at, .. }
            | Self::Resume { at, .. }
            | Self::Finish { at, .. }
            | Self::Abort { at, .. }
            | Self::Unload { at, .. }
            | Self::Hold { at, .. } => *at = told,
        }
        self
    }

    pub const fn name(&self) -> &'static str {
        match self {
            Self::Mount { .. } => "mount",
            Self::FinishSetup { .. } => "finish_setup",
            Self::Unmount { .. } => "unmount",
            Self::Load { .. } => "load",
            Self::Move { .. } => "move",
            Self::Start { .. } => "start",
            Self::Pause { .. } => "pause",
            Self::Resume { .. } => "resume",
            Self::Finish { .. } => "finish",
            Self::Abort { .. } => "abort",
            Self::Unload { .. } => "unload",
            Self::Hold { .. } => "hold",
        }
    }

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

    /// What would be asked if it happened now.
    #[expect(
        clippy::too_many_lines,
        reason = "a list: an arm for each act, and nothing in it but its fields"
    )]
    pub fn command(&self) -> Command {
        match self.clone() {
            Self::Mount {
                pallet,
                setup,
                fixture,
                copy,
                at,
            } => MountFixture {
                pallet,
                setup,
                fixture,
                copy,
                at,
            }
            .into(),
            Self::FinishSetup { pallet, at } => FinishSetup { pallet, at }.into(),
            Self::Unmount { pallet, at } => UnmountFixture { pallet, at }.into(),
            Self::Load {
                pallet,
                load,
                clamped,
                at,
            } => LoadPallet {
                pallet,
                load,
                clamped,
                at,
                overrides: Vec::new(),
            }
            .into(),
            Self::Move {
                pallet,
                to,
                exchange,
                at,
            } => MovePallet {
                pallet,
                to,
                exchange,
                at,
            }
            .into(),
            Self::Start {
                run,
                machine,
                pallet,
                purpose,
                at,
            } => StartRun {
                run,
                machine,
                pallet,
                purpose,
                at,
                overrides: Vec::new(),
            }
            .into(),
            Self::Pause { run, at, reason } => PauseRun { run, at, reason }.into(),
            Self::Resume { run, at } => ResumeRun { run, at }.into(),
            Self::Finish { run, at, hold } => FinishRun { run, at, hold }.into(),
            Self::Abort {
                run,
                at,
                reason,
                note,
            } => AbortRun {
                run,
                at,
                reason,
                note,
            }
            .into(),
            Self::Unload {
                pallet,
                counts,
                at,
                note,
            } => UnloadPallet {
                pallet,
                counts,
                at,
                note,
            }
            .into(),
            Self::Hold {
                pallet,
                hold,
                kind,
                at,
                note,
            } => PlaceHold {
                pallet,
                hold,
                kind,
                at,
                note,
            }
            .into(),
        }
    }

    /// `None`: a command that is told of only while it is given.
    pub fn of(command: Command) -> Option<Self> {
        Some(match command {
            Command::MountFixture(one) => Self::Mount {
                pallet: one.pallet,
                setup: one.setup,
                fixture: one.fixture,
                copy: one.copy,
                at: one.at,
            },
            Command::FinishSetup(FinishSetup { pallet, at }) => Self::FinishSetup { pallet, at },
            Command::UnmountFixture(UnmountFixture { pallet, at }) => Self::Unmount { pallet, at },
            Command::LoadPallet(one) => Self::Load {
                pallet: one.pallet,
                load: one.load,
                clamped: one.clamped,
                at: one.at,
            },
            Command::MovePallet(one) => Self::Move {
                pallet: one.pallet,
                to: one.to,
                exchange: one.exchange,
                at: one.at,
            },
            Command::StartRun(one) => Self::Start {
                run: one.run,
                machine: one.machine,
                pallet: one.pallet,
                purpose: one.purpose,
                at: one.at,
            },
            Command::PauseRun(PauseRun { run, at, reason }) => Self::Pause { run, at, reason },
            Command::ResumeRun(ResumeRun { run, at }) => Self::Resume { run, at },
            Command::FinishRun(FinishRun { run, at, hold }) => Self::Finish { run, at, hold },
            Command::AbortRun(one) => Self::Abort {
                run: one.run,
                at: one.at,
                reason: one.reason,
                note: one.note,
            },
            Command::UnloadPallet(one) => Self::Unload {
                pallet: one.pallet,
                counts: one.counts,
                at: one.at,
                note: one.note,
            },
            Command::PlaceHold(one) => Self::Hold {
                pallet: one.pallet,
                hold: one.hold,
                kind: one.kind,
                at: one.at,
                note: one.note,
            },
            _ => return None,
        })
    }
}
