use crate::ids::{MachineId, PlanId};
use crate::time::Timestamp;
use serde::{Deserialize, Serialize};

/// One planned run: the machine is meant to be in cycle for `cycle_s` from `starts_at`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Slot {
    pub machine: MachineId,
    pub starts_at: Timestamp,
    pub cycle_s: u32,
}

impl Slot {
    pub const fn ends_at(&self) -> Timestamp {
        self.starts_at.plus_s(self.cycle_s as i64)
    }
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlanPosted {
    pub plan: PlanId,
    /// In the order of machine and start.
    pub slots: Vec<Slot>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlanPublished {
    pub plan: PlanId,
}
