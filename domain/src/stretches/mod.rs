//! The marks of a timeline: what was said about a machine, a pallet, a cell or a job, when, and by which entry.
//!
//! Marks are kept per (track, layer, UTC day); hours are computed from them and from nothing else.

mod batch;
mod day_marks;
mod days;
mod deltas;
mod job_marks;
mod machine_marks;
mod needs;
mod parts;
mod people_marks;
#[cfg(test)]
mod tests;

pub use batch::{BatchCounts, NormalisedBatch, normalise};
pub use day_marks::{DayMarks, DownMark, Merged, ReadingMark, SpanMark, StateMark};
pub use days::{NotLoaded, RowKey, StretchDays};
pub use job_marks::{JobAct, JobMark, JobMarks, Portion};
pub use machine_marks::{MachineMarks, PalletMarks};
pub use needs::{LayerDays, Needs, needs_of};
pub use parts::PART_MARKS;
pub use people_marks::{CountedMark, PalletMark, RunAct, RunMark, WorkMark};

use self::day_marks::LayerMarks;
use crate::ids::{CellId, MachineId, PalletId, RunId, Seq, SetupId, Track};
use crate::machine_state::MachineState;
use crate::pool::PalletState;
use crate::run::Purpose;
use crate::time::{Timestamp, Window};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// No cycle and no covered window is longer, so a window's cycles all start at most this long before it.
pub const CYCLE_MAX_S: i64 = 7 * 86_400;

/// How far back a run may have begun to be known in a window: longer than a works holiday in which it stands paused.
pub const RUN_REACH_S: i64 = 28 * 86_400;

/// A kind of row in which marks are kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[repr(u8)]
pub enum Layer {
    Signals = 1,
    Cycles = 2,
    Downs = 3,
    Readings = 4,
    /// What people recorded of a machine's runs.
    Runs = 5,
    /// Where a pallet is, and in which condition.
    Pallets = 6,
    /// Whether there is work for a cell.
    Work = 7,
    /// The pieces of a machine's runs.
    Counted = 8,
    /// What was set up and run for a job.
    Jobs = 9,
}

impl Layer {
    pub const ALL: [Self; 9] = [
        Self::Signals,
        Self::Cycles,
        Self::Downs,
        Self::Readings,
        Self::Runs,
        Self::Pallets,
        Self::Work,
        Self::Counted,
        Self::Jobs,
    ];

    /// The number under which the layer is stored. It never changes.
    pub const fn code(self) -> u8 {
        self as u8
    }

    pub fn from_code(code: u8) -> Option<Self> {
        Self::ALL.into_iter().find(|layer| layer.code() == code)
    }
}

/// The entry that a mark came from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Source {
    pub seq: Seq,
    pub recorded_at: Timestamp,
}

/// One thing said about a machine, a pallet, a cell or a job, as an entry says it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Mark {
    /// From `at` on, until the next one.
    State {
        at: Timestamp,
        state: MachineState,
    },
    /// A finished cut of a device that knows no states.
    Cycle {
        from: Timestamp,
        to: Timestamp,
    },
    /// Such a device watched the machine all this time: what no cycle fills was not in cycle.
    Covered {
        from: Timestamp,
        to: Timestamp,
    },
    Down {
        at: Timestamp,
        reason: String,
    },
    Up {
        at: Timestamp,
    },
    /// The control's own counters, cumulative; `reset` says that they do not go on from the one before.
    Reading {
        at: Timestamp,
        powered_on_s: i64,
        in_cut_s: i64,
        reset: bool,
    },
    RunStarted {
        at: Timestamp,
        run: RunId,
        pallet: PalletId,
        purpose: Purpose,
        /// How long the spindle is in cycle for this load, as planned.
        cycle_s: u32,
        /// How long the cell takes to change pallets; 0 where the same one stayed.
        exchange_s: u32,
    },
    RunPaused {
        at: Timestamp,
        run: RunId,
        reason: String,
    },
    RunResumed {
        at: Timestamp,
        run: RunId,
    },
    RunEnded {
        at: Timestamp,
        run: RunId,
        aborted: bool,
    },
    /// What was said of the run at this instant is void.
    RunWithdrawn {
        at: Timestamp,
        run: RunId,
    },
    /// A pallet from `at` on: its cell, the machine whose spindle it is at, its condition.
    PalletState {
        at: Timestamp,
        cell: CellId,
        at_machine: Option<MachineId>,
        state: PalletState,
    },
    /// Whether there is released work for a cell, from `at` on.
    WorkOpen {
        at: Timestamp,
        open: bool,
    },
    /// The pieces of a run were counted. Replaces what an earlier entry said of the same run.
    Counted {
        from: Timestamp,
        to: Timestamp,
        run: RunId,
        purpose: Purpose,
        /// Planned cycle time of the good pieces.
        earned_s: i64,
        /// Planned cycle time of all pieces that came off.
        produced_s: i64,
        produced: u32,
        good: u32,
        scrap: u32,
    },
    /// A run began in which pieces of the job are cut.
    JobRun {
        at: Timestamp,
        run: RunId,
        machine: MachineId,
        operation: u16,
        portion: Portion,
        /// Planned for the job's pieces in the load.
        cycle_s: u32,
    },
    /// A fixture was set up for the job: its first load holds pieces of it.
    JobSetup {
        at: Timestamp,
        setup: SetupId,
        operation: u16,
        portion: Portion,
        us: i64,
    },
}

impl Mark {
    pub const fn layer(&self) -> Layer {
        match self {
            Self::State { .. } => Layer::Signals,
            Self::Cycle { .. } | Self::Covered { .. } => Layer::Cycles,
            Self::Down { .. } | Self::Up { .. } => Layer::Downs,
            Self::Reading { .. } => Layer::Readings,
            Self::RunStarted { .. }
            | Self::RunPaused { .. }
            | Self::RunResumed { .. }
            | Self::RunEnded { .. }
            | Self::RunWithdrawn { .. } => Layer::Runs,
            Self::PalletState { .. } => Layer::Pallets,
            Self::WorkOpen { .. } => Layer::Work,
            Self::Counted { .. } => Layer::Counted,
            Self::JobRun { .. } | Self::JobSetup { .. } => Layer::Jobs,
        }
    }

    /// The instant by which the mark is sorted and by which its day is chosen.
    pub const fn at(&self) -> Timestamp {
        match self {
            Self::Cycle { from: at, .. }
            | Self::Covered { from: at, .. }
            | Self::State { at, .. }
            | Self::Down { at, .. }
            | Self::Up { at }
            | Self::Reading { at, .. }
            | Self::RunStarted { at, .. }
            | Self::RunPaused { at, .. }
            | Self::RunResumed { at, .. }
            | Self::RunEnded { at, .. }
            | Self::RunWithdrawn { at, .. }
            | Self::PalletState { at, .. }
            | Self::WorkOpen { at, .. }
            | Self::Counted { from: at, .. }
            | Self::JobRun { at, .. }
            | Self::JobSetup { at, .. } => *at,
        }
    }
}

/// An entry's marks by the rows that they belong to, each in the order of the entry.
pub fn by_row(marks: impl IntoIterator<Item = (Track, Mark)>) -> BTreeMap<RowKey, Vec<Mark>> {
    let mut rows = BTreeMap::<_, Vec<Mark>>::new();
    for (track, mark) in marks {
        rows.entry((track, mark.layer(), mark.at().utc_day()))
            .or_default()
            .push(mark);
    }
    rows
}

/// From the first instant to just after the last, of a batch in any order.
pub fn span_of(instants: impl IntoIterator<Item = Timestamp>) -> Option<Window> {
    instants.into_iter().fold(None, |span: Option<Window>, at| {
        let one = Window::new(at, at.plus_us(1));
        Some(span.map_or(one, |span| {
            Window::new(span.from.min(one.from), span.to.max(one.to))
        }))
    })
}
