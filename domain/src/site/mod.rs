//! The shop itself: its name, its zone and its working calendar.

mod command;
mod event;
mod refusal;

pub use command::{ChangeSite, OpenSite, SetSiteCalendar};
pub use event::{SiteCalendarSet, SiteChanged, SiteOpened};
pub use refusal::SiteRefusal;

use crate::calendar::CalendarVersions;
use crate::code::{Code, Name};
use crate::ids::{Seq, SiteId};
use chrono_tz::Tz;
use serde::{Deserialize, Serialize};

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Site {
    pub id: SiteId,
    pub code: Code,
    pub name: Name,
    pub zone: Tz,
    pub calendar: CalendarVersions,
    pub changed_seq: Seq,
    pub calendar_changed_seq: Seq,
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
    Ok(SiteCalendarSet {
        valid_from: command.valid_from,
        calendar: command.calendar.clone(),
    })
}

fn is_current(expected: Option<Seq>, current: Seq) -> Result<(), SiteRefusal> {
    match expected {
        Some(expected) if expected != current => Err(SiteRefusal::Stale { expected, current }),
        _ => Ok(()),
    }
}
