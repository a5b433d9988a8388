use super::{Back, Counts};
use crate::code::Name;
use crate::ids::{JobId, VendorId};
use crate::time::Timestamp;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

/// Pieces that wait at an operation and go to another lot.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Moved {
    pub operation: u16,
    pub pieces: u32,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JobSplit {
    pub job: JobId,
    pub into: JobId,
    pub quantity: u32,
    pub moved: Vec<Moved>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BlanksAdded {
    pub job: JobId,
    pub pieces: u32,
    /// Set where the job had none before.
    pub certificate: Option<Name>,
}

/// Handed over to a manual step, in the house or to a vendor.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SteppedOut {
    pub job: JobId,
    pub operation: u16,
    pub step: u32,
    pub pieces: u32,
    pub from_rework: bool,
    pub vendor: Option<VendorId>,
    pub at: Timestamp,
    pub due: Option<NaiveDate>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SteppedBack {
    pub job: JobId,
    pub operation: u16,
    pub step: u32,
    pub back: Back,
    pub at: Timestamp,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JobInspected {
    pub job: JobId,
    pub operation: u16,
    pub counts: Counts,
    pub at: Timestamp,
}
