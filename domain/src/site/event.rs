use crate::calendar::Calendar;
use crate::code::{Code, Name};
use crate::ids::SiteId;
use chrono::NaiveDate;
use chrono_tz::Tz;
use serde::{Deserialize, Serialize};

/// The first entry of every ledger.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SiteOpened {
    pub site: SiteId,
    pub code: Code,
    pub name: Name,
    /// IANA zone.
    pub zone: Tz,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SiteChanged {
    pub name: Name,
    pub zone: Tz,
}

/// The shop works by this calendar from the shift date `valid_from` on.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SiteCalendarSet {
    pub valid_from: NaiveDate,
    pub calendar: Calendar,
}
