use crate::ids::{
    CellId, FixtureCopyId, FixtureId, HoldId, JobId, LoadId, MachineId, PalletId, RunId, SetupId,
};
use crate::load::{Approval, Clamped, HoldKind};
use crate::note::NoteRef;
use crate::pallet::Position;
use crate::run::{AbortReason, PauseReason, Purpose, named_values};
use crate::time::Timestamp;
use serde::{Deserialize, Serialize};

named_values! {
    /// The rules that a planner may override with a reason: none is about quality, counts or what may run alone.
    pub enum OverridableRule {
        MaterialNotArrived = "load.material-not-arrived",
        ToolLifeShort = "run.tool-life-short",
        NotNext = "run.not-next",
    }
}

/// A planner let it happen against this rule.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Override {
    pub rule: OverridableRule,
    pub reason: NoteRef,
}

macro_rules! payloads {
    ($($(#[$doc:meta])* $name:ident { $($(#[$field_doc:meta])* $field:ident: $kind:ty),+ $(,)? })+) => {$(
        $(#[$doc])*
        #[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
        #[serde(deny_unknown_fields)]
        pub struct $name {
            $($(#[$field_doc])* pub $field: $kind,)+
        }
    )+};
}

payloads! {
    /// Somebody began to mount a fixture.
    SetupStarted {
        pallet: PalletId,
        setup: SetupId,
        fixture: FixtureId,
        copy: FixtureCopyId,
        at: Timestamp,
    }

    SetupEnded { pallet: PalletId, setup: SetupId, at: Timestamp }

    PalletUnmounted { pallet: PalletId, setup: SetupId, at: Timestamp }

    /// Pieces were clamped: a new load, or more on one that has not been cut.
    PalletLoaded {
        pallet: PalletId,
        load: LoadId,
        clamped: Vec<Clamped>,
        at: Timestamp,
        overrides: Vec<Override>,
    }

    PalletMoved { pallet: PalletId, from: Position, to: Position, at: Timestamp }

    /// The order in which the ready pallets of a cell go to the spindle.
    CellQueueSet { cell: CellId, pallets: Vec<PalletId> }

    RunStarted {
        run: RunId,
        cell: CellId,
        machine: MachineId,
        pallet: PalletId,
        load: LoadId,
        purpose: Purpose,
        at: Timestamp,
        cycle_s: u64,
        unattended: bool,
        overrides: Vec<Override>,
    }

    RunPaused { run: RunId, machine: MachineId, pallet: PalletId, at: Timestamp, reason: PauseReason }

    RunResumed { run: RunId, machine: MachineId, pallet: PalletId, at: Timestamp }

    RunFinished { run: RunId, machine: MachineId, pallet: PalletId, at: Timestamp }

    RunAborted {
        run: RunId,
        machine: MachineId, pallet: PalletId,
        at: Timestamp,
        reason: AbortReason,
        note: Option<NoteRef>,
    }

    /// Everything was taken off and counted.
    PalletUnloaded {
        pallet: PalletId,
        load: LoadId,
        /// `None`: it was never cut.
        run: Option<RunId>,
        counts: Vec<Count>,
        at: Timestamp,
        note: Option<NoteRef>,
    }

    /// A load waits for somebody who decides.
    HoldPlaced {
        hold: HoldId,
        kind: HoldKind,
        pallet: PalletId,
        load: LoadId,
        at: Timestamp,
        note: Option<NoteRef>,
    }

    HoldAccepted {
        hold: HoldId,
        pallet: PalletId,
        load: LoadId,
        at: Timestamp,
        approved: Vec<Approval>,
        note: Option<NoteRef>,
    }
}

payloads! {
    /// What stood on the floor when the book was opened.
    FloorOpened { pallets: Vec<OpeningPallet>, jobs: Vec<OpeningJob>, at: Timestamp }

    OpeningPallet {
        pallet: PalletId,
        position: Position,
        setup: Option<OpeningSetup>,
        load: Option<OpeningLoad>,
    }

    /// A fixture that was mounted before; `is_ended` is false while somebody is still at it.
    OpeningSetup {
        setup: SetupId,
        fixture: FixtureId,
        copy: FixtureCopyId,
        is_ended: bool,
    }

    OpeningLoad { load: LoadId, clamped: Vec<Clamped>, is_cut: bool }

    OpeningJob { job: JobId, operations: Vec<OpeningCount> }
}

/// What had become of a job's pieces at an operation. Those that are clamped stand on a pallet; the rest waits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OpeningCount {
    pub operation: u16,
    pub good: u32,
    pub scrapped: u32,
    pub to_rework: u32,
    pub to_inspection: u32,
}

impl OpeningCount {
    pub fn total(&self) -> u64 {
        [self.good, self.scrapped, self.to_rework, self.to_inspection]
            .into_iter()
            .map(u64::from)
            .sum()
    }
}

/// What became of the pieces of one job operation that were clamped.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Count {
    pub job: JobId,
    pub operation: u16,
    /// They had been clamped to be reworked.
    pub rework: bool,
    pub good: u32,
    pub scrapped: u32,
    pub to_rework: u32,
    pub to_inspection: u32,
    /// Taken off as they were put on.
    pub uncut: u32,
}

impl Count {
    pub fn total(&self) -> u64 {
        [
            self.good,
            self.scrapped,
            self.to_rework,
            self.to_inspection,
            self.uncut,
        ]
        .into_iter()
        .map(u64::from)
        .sum()
    }
}
