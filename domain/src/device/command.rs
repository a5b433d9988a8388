use super::{Contact, DeliveredAct};
use crate::ids::{BadgeId, PrincipalId};
use crate::time::Timestamp;

#[derive(Clone, Debug)]
pub struct BeginBadge {
    pub badge: BadgeId,
    pub device: PrincipalId,
    pub person: PrincipalId,
    /// For what was tapped in a network gap; `None`: from now on.
    pub claimed_since: Option<Timestamp>,
}

#[derive(Clone, Debug)]
pub struct EndBadge {
    pub badge: BadgeId,
}

#[derive(Clone, Debug)]
pub struct ReportContact {
    pub device: PrincipalId,
    pub contact: Contact,
    pub acts: Vec<DeliveredAct>,
}

#[derive(Clone, Debug)]
pub struct SetPin {
    pub person: PrincipalId,
}

#[derive(Clone, Debug)]
pub struct UnlockPin {
    pub person: PrincipalId,
}
