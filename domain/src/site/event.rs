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

/// How many people are there in a shift, by the shift's name.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Headcount {
    pub shift: Name,
    /// Who can load and unload.
    pub people: u32,
}

/// Who is there to load and to inspect. Breaks, holidays and overtime are the calendar's matter.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct People {
    /// By shift; a shift that does not stand here has one person.
    pub headcount: Vec<Headcount>,
    /// `None`: inspectors work when the site does.
    pub inspectors: Option<Calendar>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SitePeopleSet {
    pub people: People,
}

/// The shop works by this calendar from the shift date `valid_from` on.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SiteCalendarSet {
    pub valid_from: NaiveDate,
    pub calendar: Calendar,
}
