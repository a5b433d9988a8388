//! A schedule in the shop's own words: what is clamped on which pallet, when it is cut, when it comes off, and what that
//! means for every line.

mod make;
mod publish;
mod read;
#[cfg(test)]
mod tests;

pub(crate) use make::best_sequence;
pub use make::{Effort, LOADS_MAX, compute, compute_with};
pub use publish::as_last;
pub(crate) use read::read;

use crate::ids::{CellId, FixtureCopyId, FixtureId, HoldId, MachineId, OrderId, PalletId};
use crate::load::{Clamped, HoldKind};
use crate::plan::build::Cost;
use crate::plan::model::LoadKey;
use crate::time::{Timestamp, Window};

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Schedule {
    /// The whole second from which it was made.
    pub from: Timestamp,
    /// Spindle hours were counted until then.
    pub until: Timestamp,
    /// By cell, machine and the start of their runs; what is only taken off comes first.
    pub loads: Vec<ScheduledLoad>,
    pub left_out: Vec<LoadLeftOut>,
    pub lines: Vec<ScheduledLine>,
    /// Loads that are held now, and when the inspector is expected to have decided.
    pub judged: Vec<JudgedHold>,
    pub cost: Cost,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ScheduledLoad {
    pub key: LoadKey,
    pub cell: CellId,
    /// `None`: it has been cut, or nobody wants it any more.
    pub machine: Option<MachineId>,
    pub pallet: PalletId,
    pub fixture: Option<FixtureId>,
    pub copy: Option<FixtureCopyId>,
    pub clamped: Vec<Clamped>,
    pub mount: Option<Window>,
    pub load: Option<Window>,
    pub run: Option<Window>,
    /// After its run the inspector has to look at it.
    pub held_as: Option<HoldKind>,
    pub inspection: Option<Window>,
    pub unload: Option<Window>,
    /// In the spindle, or announced as next: no new plan moves it.
    pub is_frozen: bool,
    /// Otherwise than in the last plan; `None`: it was not in it.
    pub is_moved: Option<bool>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LoadLeftOut {
    pub key: LoadKey,
    pub clamped: Vec<Clamped>,
    pub why: WhyLeftOut,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum WhyLeftOut {
    Pieces,
    NoWay,
    Tool {
        tool: crate::code::Code,
        machine: MachineId,
        short_s: i64,
    },
    TooLongToAttend {
        machine: MachineId,
    },
    TooFar,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ScheduledLine {
    pub order: OrderId,
    pub line: u32,
    pub due: Option<Timestamp>,
    pub weight: i64,
    /// When the last wanted piece of it is there; `None`: not by this schedule.
    pub complete: Option<Timestamp>,
    /// Pieces that no blank is there for.
    pub pieces_short: u32,
}

impl ScheduledLine {
    /// Seconds after its due; 0 where it is in time or nobody knows.
    pub fn late_s(&self) -> i64 {
        let late = self.complete.zip(self.due);
        late.map_or(0, |(complete, due)| {
            (complete.since_us(due) / crate::time::US_PER_SECOND).max(0)
        })
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct JudgedHold {
    pub hold: HoldId,
    pub inspection: Window,
}
