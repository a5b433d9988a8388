use super::Slot;
use crate::ids::PlanId;

#[derive(Clone, Debug)]
pub struct PostPlan {
    pub plan: PlanId,
    pub slots: Vec<Slot>,
}

#[derive(Clone, Debug)]
pub struct PublishPlan {
    pub plan: PlanId,
}
