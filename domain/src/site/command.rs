use super::People;
use crate::calendar::Calendar;
use crate::code::{Code, Name};
use crate::ids::{Seq, SiteId};
use chrono::NaiveDate;
use chrono_tz::Tz;

#[derive(Clone, Debug)]
pub struct OpenSite {
    pub site: SiteId,
    pub code: Code,
    pub name: Name,
    pub zone: Tz,
}

#[derive(Clone, Debug)]
pub struct ChangeSite {
    pub name: Name,
    pub zone: Tz,
    /// The version that the change was made on (If-Match); `None` at the command line.
    pub expected: Option<Seq>,
}

#[derive(Clone, Debug)]
pub struct SetSitePeople {
    pub people: People,
    pub expected: Option<Seq>,
}

#[derive(Clone, Debug)]
pub struct SetSiteCalendar {
    pub valid_from: NaiveDate,
    pub calendar: Calendar,
    pub expected: Option<Seq>,
}
