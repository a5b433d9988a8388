use crate::floor::Count;
use crate::ids::{HoldId, LoadId, MachineId, PalletId, RunId, Seq, SetupId};
use crate::load::Clamped;
use crate::note::NoteRef;
use crate::pallet::Position;
use crate::pool::PalletState;
use crate::run::{Purpose, named_values};
use crate::time::Timestamp;
use serde::{Deserialize, Serialize};

/// What an earlier entry said did not happen.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ActWithdrawn {
    pub corrects: Seq,
    /// When it was said to have happened.
    pub at: Timestamp,
    pub pallet: PalletId,
    pub what: Withdrawn,
    pub note: Option<NoteRef>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Withdrawn {
    SetupStart {
        setup: SetupId,
    },
    SetupEnd {
        setup: SetupId,
    },
    /// `back_to`: where the pallet stood.
    Move {
        back_to: Position,
    },
    Load {
        load: LoadId,
        clamped: Vec<Clamped>,
    },
    Start {
        run: RunId,
        machine: MachineId,
        clamped: Vec<Clamped>,
        /// The run of the same load that had been broken off before.
        broken_off: Option<RunId>,
    },
    Pause {
        run: RunId,
        machine: MachineId,
    },
    /// With the hold that came with it.
    Finish {
        run: RunId,
        machine: MachineId,
        hold: Option<HoldId>,
    },
}

named_values! {
    /// What of a run was told at another time than it happened.
    pub enum Edge {
        Start = "start",
        Pause = "pause",
        Resume = "resume",
        Finish = "finish",
        Abort = "abort",
    }
}

/// Something of a run happened at another time than an earlier entry said.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RunRetimed {
    pub corrects: Seq,
    pub run: RunId,
    pub machine: MachineId,
    pub pallet: PalletId,
    pub edge: Edge,
    pub was: Timestamp,
    pub at: Timestamp,
    /// The pallet before and from that instant on; `None`: its state did not change with it.
    pub pallet_state: Option<(PalletState, PalletState)>,
    /// What a start says beside its time, and why a pause.
    pub start: Option<RetimedStart>,
    pub reason: Option<String>,
    pub note: Option<NoteRef>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RetimedStart {
    pub purpose: Purpose,
    pub cycle_s: u64,
}

/// The pieces of an unloading were counted wrong.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PalletRecounted {
    pub corrects: Seq,
    pub pallet: PalletId,
    pub load: LoadId,
    pub run: Option<RunId>,
    pub was: Vec<Count>,
    pub counts: Vec<Count>,
    /// What the run is worth now; `None`: nothing of it had been booked.
    pub booked: Option<BookedPieces>,
    pub note: Option<NoteRef>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BookedPieces {
    pub machine: MachineId,
    pub from: Timestamp,
    pub to: Timestamp,
    pub purpose: Purpose,
    pub earned_s: i64,
    pub produced_s: i64,
    pub produced: u32,
    pub good: u32,
    pub scrap: u32,
}
