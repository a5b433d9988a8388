//! What a schedule is built from: the shop as it stands, in plain arrays and whole seconds from now on.
//!
//! A pure function of the shop, the options and now. Things are counted from 0 here; the names of things stay with their
//! ids, so that a schedule can be told in the shop's words again.

mod clock;
mod lead;
mod loads;
mod options;
mod places;
mod standing;
mod steps;
mod take;
mod tools;

pub use clock::{Clock, Stretch, Stretches};
pub use lead::Lead;
pub use options::{Aim, LastPlan, LoadKey, PlanOptions, ToolLife, WEIGHTS};
pub use take::{Taken, model};

use crate::ids::{CellId, FixtureCopyId, FixtureId, HoldId, JobId, LoadId, MachineId, OrderId, PalletId};
use crate::load::Clamped;

/// What never comes: material that nobody expects, a machine that is down.
pub const NEVER: i64 = i64::MAX / 4;

/// How far a schedule reaches. What does not fit in a year is left out, with a reason.
pub const REACH_S: i64 = 366 * 86_400;

#[derive(Clone, Debug)]
pub struct Model {
    pub clock: Clock,
    pub horizon_s: i64,
    pub aim: Aim,
    pub move_between_cells_s: i64,
    pub inspection_s: i64,
    pub cells: Vec<CellNow>,
    pub crews: Vec<Crew>,
    pub machines: Vec<MachineNow>,
    pub pallets: Vec<PalletNow>,
    pub fixtures: Vec<FixtureNow>,
    pub copies: Vec<CopyNow>,
    /// Of the inspector, who judges one load at a time.
    pub inspector: Stretches,
    /// What the inspector has to judge first: loads held now, and pieces that were taken to inspection.
    pub inspector_busy: Vec<(i64, i64)>,
    pub lines: Vec<LineNow>,
    pub jobs: Vec<JobNow>,
    pub steps: Vec<Step>,
    pub leads: Vec<Lead>,
    /// First those that cannot be moved, in the order in which they happen, then those that the search puts in order.
    pub loads: Vec<LoadToPlan>,
    /// So many of `loads` are not the search's to move.
    pub fixed: usize,
    pub ways: Vec<Way>,
    pub needs: Vec<ToolNeed>,
    /// Seconds left of each tool of each machine, twins apart.
    pub tool_life: Vec<i64>,
    /// For [`ToolNeed`]: where the twins of a tool lie in `tool_life`.
    pub twins: Vec<usize>,
}

#[derive(Clone, Debug)]
pub struct CellNow {
    pub id: CellId,
    /// Its place in [`Model::cells`].
    pub index: usize,
    pub crew: usize,
    pub is_standalone: bool,
    pub exchange_s: i64,
    /// `None`: more than there are people to work at them.
    pub load_stations: Option<usize>,
    /// Until when load stations are taken now.
    pub stations_busy: Vec<i64>,
    /// More pallets than places beside the spindles: a pallet leaves a spindle only for another one.
    pub is_full: bool,
    /// When somebody is there, breaks included.
    pub attended: Stretches,
    pub longest_attended_s: i64,
}

/// The people who load, unload and mount by one calendar.
#[derive(Clone, Debug)]
pub struct Crew {
    /// One for each person that the largest shift has: when so many are there.
    pub people: Vec<Stretches>,
    /// Work that is being done now, by person.
    pub busy: Vec<(usize, i64, i64)>,
}

#[derive(Clone, Copy, Debug)]
pub struct MachineNow {
    pub id: MachineId,
    pub cell: usize,
    pub is_down: bool,
    /// Nothing is taken in before.
    pub free_from: i64,
    /// The pallet that stands at its spindle.
    pub pallet: Option<usize>,
}

#[derive(Clone, Debug)]
pub struct PalletNow {
    pub id: PalletId,
    pub cell: usize,
    pub copy: Option<usize>,
    /// Hands reach it from then on, if nothing is clamped on it.
    pub free_from: i64,
    /// A fixture was mounted for what comes next: it stays on until that was clamped.
    pub is_reserved: bool,
    /// By fixture: whether it may stand on this pallet.
    pub carries: Vec<bool>,
    /// It is in a machine's spindle.
    pub at_spindle: Option<usize>,
}

#[derive(Clone, Copy, Debug)]
pub struct FixtureNow {
    pub id: FixtureId,
    pub mount_s: i64,
}

#[derive(Clone, Copy, Debug)]
pub struct CopyNow {
    pub id: FixtureCopyId,
    pub fixture: usize,
    pub on: Option<usize>,
}

#[derive(Clone, Copy, Debug)]
pub struct LineNow {
    pub order: OrderId,
    pub line: u32,
    /// `None`: nobody wants it by a date.
    pub due: Option<i64>,
    pub weight: i64,
}

#[derive(Clone, Copy, Debug)]
pub struct JobNow {
    pub id: JobId,
    /// `None`: its line is not in the book.
    pub line: Option<usize>,
    /// Good pieces that are still wanted.
    pub wanted: u32,
    /// Pieces that can still become good ones: fewer than are wanted where blanks are lacking.
    pub in_hand: u32,
    /// The step after its last operation.
    pub done: usize,
}

/// An operation of a job, or the end of a job.
#[derive(Clone, Debug)]
pub struct Step {
    pub job: usize,
    /// 0 at the end of a job.
    pub operation: u16,
    pub kind: StepKind,
    /// Pieces that are here or come without a load: when, how many, out of which cell.
    pub arrivals: Vec<Arrival>,
    /// More than these never come, loads included.
    pub arrivals_max: usize,
    pub wants_article: bool,
    pub wants_first_piece: bool,
    /// A first article is open until then; nothing of this step is cut before.
    pub article_open_until: i64,
    /// A first piece is open until then; setups that are not approved wait for it.
    pub first_piece_open_until: i64,
    /// Approved setups: the pallet that has the setup now, the machine, and from when on.
    pub approved: Vec<(usize, usize, i64)>,
    pub approvals_max: usize,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StepKind {
    Machined,
    /// Index into [`Model::leads`].
    Manual(usize),
    Done,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Arrival {
    pub at: i64,
    pub pieces: u32,
    /// `None`: from outside of any cell.
    pub cell: Option<usize>,
}

#[derive(Clone, Debug)]
pub struct LoadToPlan {
    pub key: LoadKey,
    pub clamped: Vec<Clamped>,
    /// The steps of what is clamped, with the pieces; more than one on a mixed load.
    pub pieces: Vec<(usize, u32)>,
    pub phase: Phase,
    pub load_s: i64,
    pub unload_s: i64,
    /// Into [`Model::ways`].
    pub first_way: usize,
    pub ways: usize,
    /// For the order to begin with.
    pub due: i64,
    pub weight: i64,
    /// What was before it on its machine in the last plan.
    pub last: Option<LastPlan>,
}

/// How far a load has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Phase {
    /// Nothing is clamped yet.
    ToLoad,
    /// Clamped; its run may start from `from` on, when a hold is decided.
    Ready { pallet: usize, from: i64, head: bool },
    /// In the spindle until `until`; `held`: the inspector looks at it afterwards, from…to.
    Running {
        pallet: usize,
        machine: usize,
        started: i64,
        until: i64,
    },
    /// Cut; hands may take it off from `from` on.
    Cut { pallet: usize, from: i64 },
}

impl Phase {
    pub const fn pallet(self) -> Option<usize> {
        match self {
            Self::ToLoad => None,
            Self::Ready { pallet, .. } | Self::Running { pallet, .. } | Self::Cut { pallet, .. } => {
                Some(pallet)
            }
        }
    }
}

/// One way to cut a load: on which machine, in which fixture.
#[derive(Clone, Copy, Debug)]
pub struct Way {
    pub machine: usize,
    pub fixture: usize,
    pub cycle_s: i64,
    /// Everything of it may run with nobody there.
    pub is_cleared: bool,
    /// Rather wait for a pallet that has the fixture than mount it.
    pub stays_mounted: bool,
    pub first_need: usize,
    pub needs: usize,
}

/// Life that a load takes of one tool, from one of its twins.
#[derive(Clone, Copy, Debug)]
pub struct ToolNeed {
    pub needed_s: i64,
    pub first_twin: usize,
    pub twins: usize,
}

/// Loads that are held now, and when the inspector comes to them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Judged {
    pub hold: HoldId,
    pub load: LoadId,
    pub from: i64,
    pub to: i64,
}

impl Model {
    /// What the search puts in order.
    pub fn movable(&self) -> &[LoadToPlan] {
        &self.loads[self.fixed..]
    }

    pub fn ways_of(&self, load: &LoadToPlan) -> &[Way] {
        &self.ways[load.first_way..load.first_way + load.ways]
    }
}
