//! Planned spindle hours: from the plan that was in force when the row began.

use super::rows::Piece;
use super::seconds::rounded_s;
use crate::ids::{MachineId, PlanId};
use crate::plan::Slot;
use crate::time::{Timestamp, Window};

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PublishedPlan {
    pub plan: PlanId,
    /// When its publishing was recorded: it is in force from then until the next one's.
    pub recorded_at: Timestamp,
    pub slots: Vec<Slot>,
}

/// The published plans of a site, in the order of their publishing. A plan speaks for all machines: one without a slot
/// in it is meant to stand.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Plans(Vec<PublishedPlan>);

/// Planned seconds, and over how much of the row a plan was in force.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Planned {
    /// `None` without a plan: not the same as a plan for nothing.
    pub planned_s: Option<i64>,
    pub over_s: i64,
}

impl Plans {
    pub fn new(mut plans: Vec<PublishedPlan>) -> Self {
        plans.sort_by_key(|plan| plan.recorded_at);
        Self(plans)
    }

    pub fn in_force(&self, at: Timestamp) -> Option<&PublishedPlan> {
        self.0[..self.0.partition_point(|plan| plan.recorded_at <= at)].last()
    }

    /// Each piece takes the plan that was in force when its shift or gap began.
    pub(super) fn planned(&self, machine: MachineId, pieces: &[Piece]) -> Planned {
        let with_plan = pieces
            .iter()
            .filter_map(|piece| Some((piece, self.in_force(piece.began)?)));
        let (mut us, mut over_us, mut any) = (0, 0, false);
        for (piece, plan) in with_plan {
            us += planned_us(&plan.slots, machine, piece.window);
            over_us += piece.window.us();
            any = true;
        }
        Planned {
            planned_s: any.then_some(rounded_s(us)),
            over_s: rounded_s(over_us),
        }
    }
}

/// What the slots of a machine have in common with a window.
pub fn planned_us(slots: &[Slot], machine: MachineId, window: Window) -> i64 {
    let mine = slots.iter().filter(|slot| slot.machine == machine);
    let runs = mine.map(|slot| Window::new(slot.starts_at, slot.ends_at()));
    runs.filter_map(|run| run.overlap(window)).map(Window::us).sum()
}
