use super::model::LoadKey;
use crate::ids::{FixtureId, MachineId, OrderId, PalletId, PlanId};
use crate::load::Clamped;
use crate::time::{Timestamp, Window};
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
    /// What is to be clamped for them, in the same order; none where a plan was made elsewhere.
    pub loads: Vec<PlannedLoad>,
    pub lines: Vec<PlannedLine>,
}

/// One load and its run.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlannedLoad {
    pub key: LoadKey,
    pub machine: MachineId,
    pub pallet: PalletId,
    pub fixture: Option<FixtureId>,
    pub clamped: Vec<Clamped>,
    /// When it is clamped; `None`: it is.
    pub load: Option<Window>,
    pub run: Window,
    pub unload: Option<Window>,
}

/// When a line is there, if all goes by the plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlannedLine {
    pub order: OrderId,
    pub line: u32,
    /// `None`: not by this plan.
    pub complete: Option<Timestamp>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlanPublished {
    pub plan: PlanId,
}
