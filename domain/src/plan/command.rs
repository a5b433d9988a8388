use super::{PlannedLine, PlannedLoad, Slot};
use crate::ids::PlanId;

#[derive(Clone, Debug)]
pub struct PostPlan {
    pub plan: PlanId,
    pub slots: Vec<Slot>,
}

/// A plan that was posted.
#[derive(Clone, Debug)]
pub struct PublishPlan {
    pub plan: PlanId,
}

/// A plan that was computed and not posted yet: it is posted and published, and becomes the queue of every cell.
#[derive(Clone, Debug)]
pub struct PublishComputed {
    pub plan: PlanId,
    pub slots: Vec<Slot>,
    pub loads: Vec<PlannedLoad>,
    pub lines: Vec<PlannedLine>,
}
