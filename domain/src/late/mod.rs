//! Acts that are told of afterwards: a tablet was off line, or somebody adds what was forgotten. What happened is booked,
//! and where it was against a rule a deviation says so and holds the load. What cannot be true as things stand is
//! parked until what is missing arrives, or a person has decided.

mod act;
mod apply;
mod command;
mod decide;
mod event;
mod refusal;
mod settle;
#[cfg(test)]
mod tests;

pub use act::Act;
pub use command::{ReportAct, SettleAct, SettleChoice};
pub use event::{ActParked, ActSettled, DeviationRecorded, Settlement};
pub use refusal::LateRefusal;

pub(crate) use apply::apply;
pub(crate) use decide::decide;
pub use decide::now_against;
pub(crate) use settle::with_settled;

use crate::actor::Actor;
use crate::ids::{HoldId, LoadId, PalletId, ParkedId, RunId, Seq};
use crate::time::Timestamp;
use serde::{Deserialize, Serialize};

/// Of a site, at one time. Far more than a person could settle; the next one is refused, and whoever sent it keeps it.
pub const PARKED_MAX: usize = 10_000;
/// The newest, for the list; the ledger has them all.
pub const DEVIATIONS_KEPT: usize = 1_000;

/// What somebody told, and why it could not be booked.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Parked {
    pub id: ParkedId,
    pub act: Act,
    /// The id of the hold, should it turn out to be against a rule.
    pub hold: HoldId,
    pub code: String,
    pub detail: String,
    pub told_by: Actor,
    pub recorded_at: Timestamp,
    /// The entry that parked it: its place in the order of receipt.
    pub seq: Seq,
}

/// Something happened against a rule.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Deviation {
    pub rule: String,
    pub detail: String,
    pub act: String,
    pub pallet: Option<PalletId>,
    pub load: Option<LoadId>,
    pub run: Option<RunId>,
    pub at: Timestamp,
    pub told_by: Actor,
    pub recorded_at: Timestamp,
    pub seq: Seq,
}
