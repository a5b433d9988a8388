//! The shop itself: its name, its zone and its working calendar.

mod command;
mod event;
mod refusal;
#[cfg(test)]
mod tests;

pub use command::{ChangeSite, OpenSite, SetSiteCalendar, SetSitePeople};
pub use event::{Headcount, People, SiteCalendarSet, SiteChanged, SiteOpened, SitePeopleSet};
pub use refusal::SiteRefusal;

use crate::calendar::CalendarVersions;
use crate::code::{Code, Name};
use crate::ids::{Seq, SiteId};
use chrono::NaiveDate;
use chrono_tz::Tz;
use serde::{Deserialize, Serialize};

/// A new calendar every month for forty years.
pub const CALENDAR_VERSIONS_MAX: usize = 480;
/// As many as a week has shifts.
pub const HEADCOUNTS_MAX: usize = 70;
pub const PEOPLE_PER_SHIFT_MAX: u32 = 1_000;

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Site {
    pub id: SiteId,
    pub code: Code,
    pub name: Name,
    pub zone: Tz,
    pub calendar: CalendarVersions,
    pub people: People,
    pub changed_seq: Seq,
    pub calendar_changed_seq: Seq,
    pub people_changed_seq: Seq,
}

pub fn change(site: &Site, command: &ChangeSite) -> Result<SiteChanged, SiteRefusal> {
    is_current(command.expected, site.changed_seq)?;
    Ok(SiteChanged {
        name: command.name.clone(),
        zone: command.zone,
    })
}

pub fn set_calendar(site: &Site, command: &SetSiteCalendar) -> Result<SiteCalendarSet, SiteRefusal> {
    is_current(command.expected, site.calendar_changed_seq)?;
    if !has_room(Some(&site.calendar), command.valid_from) {
        return Err(SiteRefusal::TooManyCalendars {
            max: CALENDAR_VERSIONS_MAX,
        });
    }
    Ok(SiteCalendarSet {
        valid_from: command.valid_from,
        calendar: command.calendar.clone(),
    })
}

pub fn open(command: &OpenSite) -> SiteOpened {
    SiteOpened {
        site: command.site,
        code: command.code.clone(),
        name: command.name.clone(),
        zone: command.zone,
    }
}

pub fn set_people(site: &Site, command: &SetSitePeople) -> Result<SitePeopleSet, SiteRefusal> {
    is_current(command.expected, site.people_changed_seq)?;
    let headcount = &command.people.headcount;
    if headcount.len() > HEADCOUNTS_MAX {
        return Err(SiteRefusal::TooManyHeadcounts { max: HEADCOUNTS_MAX });
    }
    for (index, one) in headcount.iter().enumerate() {
        if headcount[..index].iter().any(|other| other.shift == one.shift) {
            return Err(SiteRefusal::HeadcountTwice {
                index,
                shift: one.shift.to_string(),
            });
        }
    }
    Ok(SitePeopleSet {
        people: command.people.clone(),
    })
}

/// Whether one more version fits; replacing one always does.
pub(crate) fn has_room(versions: Option<&CalendarVersions>, valid_from: NaiveDate) -> bool {
    versions.is_none_or(|versions| {
        versions.len() < CALENDAR_VERSIONS_MAX || versions.iter().any(|(date, _)| date == valid_from)
    })
}

fn is_current(expected: Option<Seq>, current: Seq) -> Result<(), SiteRefusal> {
    match expected {
        Some(expected) if expected != current => Err(SiteRefusal::Stale { expected, current }),
        _ => Ok(()),
    }
}
