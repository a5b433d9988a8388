//! Plans: which spindle is meant to cut when. A plan is in force from the moment it was published until the next.

pub mod build;
pub mod check;
mod command;
mod decide;
mod event;
pub mod hypothetical;
pub mod model;
pub mod night;
pub mod promise;
pub mod published;
pub mod reasons;
mod refusal;
pub mod rush;
pub mod schedule;
pub mod search;
#[cfg(test)]
mod tests;

pub use command::{PostPlan, PublishComputed, PublishPlan};
pub(crate) use decide::{post, publish, publish_computed};
pub use event::{PlanPosted, PlanPublished, PlannedLine, PlannedLoad, Slot};
pub use refusal::PlanRefusal;

use crate::ids::{PlanId, Seq};
use crate::time::Timestamp;
use serde::{Deserialize, Serialize};

pub const SLOTS_MAX: usize = 5_000;
/// No program runs for longer than a week.
pub const SLOT_CYCLE_S_MAX: u32 = 7 * 86_400;

/// What rules need to know of a plan; its slots stand in the entry and in the read tables.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Plan {
    pub id: PlanId,
    pub posted_seq: Seq,
    pub posted_at: Timestamp,
    pub slots: u32,
    pub standing: PlanStanding,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PlanStanding {
    Posted,
    Published { at: Timestamp, seq: Seq },
}
