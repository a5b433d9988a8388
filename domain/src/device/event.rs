use super::Contact;
use crate::ids::{BadgeId, CommandId, PrincipalId};
use crate::time::Timestamp;
use serde::{Deserialize, Serialize};

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BadgeBegun {
    pub badge: BadgeId,
    pub device: PrincipalId,
    pub person: PrincipalId,
    pub since: Timestamp,
    pub until: Timestamp,
    pub claimed: bool,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BadgeEnded {
    pub badge: BadgeId,
    pub at: Timestamp,
}

/// A tablet has delivered. `at` of an act is what the tablet's clock read when it was tapped.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DeviceContacted {
    pub device: PrincipalId,
    pub contact: Contact,
    pub acts: Vec<DeliveredAct>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DeliveredAct {
    /// Its entries have this as `command_id`.
    pub key: CommandId,
    pub at: Timestamp,
}

/// The PIN itself never stands in the ledger.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PinSet {
    pub person: PrincipalId,
}

/// After too many wrong ones.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PinUnlocked {
    pub person: PrincipalId,
}
