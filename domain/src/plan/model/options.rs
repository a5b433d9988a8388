use crate::ids::{JobId, LoadId, MachineId, OrderId, PalletId};
use crate::order::Priority;
use crate::time::Timestamp;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// What a schedule is made for, beside the shop itself. What the shop's book does not say has a value here.
#[derive(Clone, Debug)]
pub struct PlanOptions {
    /// Spindle hours count until then.
    pub horizon_s: i64,
    pub aim: Aim,
    /// How long the inspector takes for one load, or for the pieces of one operation.
    pub inspection_s: i64,
    /// From a pallet in one cell to the load station of another.
    pub move_between_cells_s: i64,
    pub tool_life: ToolLife,
    /// Lines that were promised for an instant instead of the end of a day.
    pub promised: BTreeMap<(OrderId, u32), Timestamp>,
    /// What the last plan meant to do.
    pub last: BTreeMap<LoadKey, LastPlan>,
}

impl Default for PlanOptions {
    fn default() -> Self {
        Self {
            horizon_s: 7 * 86_400,
            aim: Aim::Due,
            inspection_s: 1_800,
            move_between_cells_s: 0,
            tool_life: ToolLife::AsItIs,
            promised: BTreeMap::new(),
            last: BTreeMap::new(),
        }
    }
}

/// What comes first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Aim {
    /// Weighted tardiness, then spindle time until the horizon, then fixture changes, then closeness to the last plan.
    Due,
    /// Spindle time within these seconds, then weighted tardiness, then as above.
    Night { from: i64, to: i64 },
}

/// Whether worn tools keep loads out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ToolLife {
    /// Nobody puts in a new tool: what does not fit is left out.
    AsItIs,
    /// Somebody puts in a new one in time.
    Renewed,
}

/// How much an hour of delay of a line counts. A line that is for when there is nothing else to cut still counts, or
/// nothing would ever be cut of it before the horizon.
pub const WEIGHTS: [(Priority, i64); 3] = [(Priority::Rush, 10), (Priority::Normal, 3), (Priority::Fill, 1)];

pub fn weight_of(priority: Priority) -> i64 {
    let found = WEIGHTS.iter().find(|(known, _)| *known == priority);
    found.map_or(1, |(_, weight)| *weight)
}

/// What makes a load the same load in two plans.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum LoadKey {
    /// Clamped already.
    Standing(LoadId),
    /// The loads that an operation still needs are counted from its last, so that cutting one does not rename the others.
    ToForm {
        job: JobId,
        operation: u16,
        rework: bool,
        from_last: u32,
    },
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LastPlan {
    pub machine: MachineId,
    pub pallet: PalletId,
    /// What ran before it on its machine.
    pub after: Option<LoadKey>,
}
