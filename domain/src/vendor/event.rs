use crate::code::{Code, Name};
use crate::ids::VendorId;
use chrono::{NaiveDate, Weekday};
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

/// A day of the week. Sorted from Monday on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Workday(pub Weekday);

impl PartialOrd for Workday {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Workday {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.0.num_days_from_monday().cmp(&other.0.num_days_from_monday())
    }
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct VendorFacts {
    pub code: Code,
    pub name: Name,
    /// At least one.
    pub workdays: BTreeSet<Workday>,
    /// Holidays and the like.
    pub closed: BTreeSet<NaiveDate>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct VendorAdded {
    pub vendor: VendorId,
    pub facts: VendorFacts,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct VendorChanged {
    pub vendor: VendorId,
    pub facts: VendorFacts,
}
