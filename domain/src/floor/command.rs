use super::{Count, OpeningJob, OpeningPallet, Override};
use crate::ids::{
    CellId, FixtureCopyId, FixtureId, HoldId, LoadId, MachineId, PalletId, RunId, Seq, SetupId,
};
use crate::load::{Clamped, HoldKind};
use crate::note::NoteRef;
use crate::pallet::Position;
use crate::run::{AbortReason, PauseReason, Purpose};
use crate::time::Timestamp;

#[derive(Clone, Debug)]
pub struct MountFixture {
    pub pallet: PalletId,
    pub setup: SetupId,
    pub fixture: FixtureId,
    /// `None`: the first copy that is free.
    pub copy: Option<FixtureCopyId>,
    pub at: Timestamp,
}

#[derive(Clone, Debug)]
pub struct FinishSetup {
    pub pallet: PalletId,
    pub at: Timestamp,
}

#[derive(Clone, Debug)]
pub struct UnmountFixture {
    pub pallet: PalletId,
    pub at: Timestamp,
}

#[derive(Clone, Debug)]
pub struct LoadPallet {
    pub pallet: PalletId,
    /// The id of the load, should it be a new one.
    pub load: LoadId,
    pub clamped: Vec<Clamped>,
    pub at: Timestamp,
    pub overrides: Vec<Override>,
}

#[derive(Clone, Debug)]
pub struct MovePallet {
    pub pallet: PalletId,
    pub to: Position,
    /// The pallet that is there comes here in the same movement.
    pub exchange: bool,
    pub at: Timestamp,
}

#[derive(Clone, Debug)]
pub struct SetQueue {
    pub cell: CellId,
    pub pallets: Vec<PalletId>,
    /// The version that the change was made on (If-Match).
    pub expected: Option<Seq>,
}

#[derive(Clone, Debug)]
pub struct StartRun {
    pub run: RunId,
    pub machine: MachineId,
    /// The one that is meant; `None`: the one at the spindle.
    pub pallet: Option<PalletId>,
    /// `None`: rework for pieces to be reworked, else production.
    pub purpose: Option<Purpose>,
    pub at: Timestamp,
    pub overrides: Vec<Override>,
}

#[derive(Clone, Debug)]
pub struct PauseRun {
    pub run: RunId,
    pub at: Timestamp,
    pub reason: PauseReason,
}

#[derive(Clone, Debug)]
pub struct ResumeRun {
    pub run: RunId,
    pub at: Timestamp,
}

#[derive(Clone, Debug)]
pub struct FinishRun {
    pub run: RunId,
    pub at: Timestamp,
    /// The id of the hold, should the load need one.
    pub hold: HoldId,
}

#[derive(Clone, Debug)]
pub struct AbortRun {
    pub run: RunId,
    pub at: Timestamp,
    pub reason: AbortReason,
    pub note: Option<NoteRef>,
}

#[derive(Clone, Debug)]
pub struct UnloadPallet {
    pub pallet: PalletId,
    pub counts: Vec<Count>,
    pub at: Timestamp,
    pub note: Option<NoteRef>,
}

#[derive(Clone, Debug)]
pub struct PlaceHold {
    pub pallet: PalletId,
    pub hold: HoldId,
    pub kind: HoldKind,
    pub at: Timestamp,
    pub note: Option<NoteRef>,
}

/// Day one: all or nothing.
#[derive(Clone, Debug)]
pub struct OpenFloor {
    pub pallets: Vec<OpeningPallet>,
    pub jobs: Vec<OpeningJob>,
    pub at: Timestamp,
}
