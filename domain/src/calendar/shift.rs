use super::TimeOfDay;
use crate::code::Name;
use chrono::{NaiveDate, Weekday};
use serde::{Deserialize, Serialize};

/// A break in a shift, by the wall clock. People rest: it counts as unstaffed, but somebody is there.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Break {
    pub starts: TimeOfDay,
    pub ends: TimeOfDay,
}

/// A shift that comes every week. `ends` at or before `starts` is on the next day, so that no shift is longer than
/// 24 hours and none is without length.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WeeklyShift {
    pub name: Name,
    /// The day on which it begins; in payloads `"Mon"` to `"Sun"`.
    pub weekday: Weekday,
    pub starts: TimeOfDay,
    pub ends: TimeOfDay,
    #[serde(default)]
    pub breaks: Vec<Break>,
}

/// A shift on one date only, beside whatever else that date has.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Overtime {
    pub date: NaiveDate,
    pub name: Name,
    pub starts: TimeOfDay,
    pub ends: TimeOfDay,
    #[serde(default)]
    pub breaks: Vec<Break>,
}

/// A public holiday: the weekly shifts that begin on this date do not take place.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Holiday {
    pub date: NaiveDate,
    pub name: Name,
}

/// Closed for another reason: the weekly shifts that begin on this date do not take place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Closed {
    pub date: NaiveDate,
}

/// In payloads `{"holiday": {…}}`, `{"closed": {…}}` or `{"overtime": {…}}`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CalendarException {
    Holiday(Holiday),
    Closed(Closed),
    Overtime(Overtime),
}

impl CalendarException {
    pub const fn date(&self) -> NaiveDate {
        match self {
            Self::Holiday(Holiday { date, .. })
            | Self::Closed(Closed { date })
            | Self::Overtime(Overtime { date, .. }) => *date,
        }
    }

    /// The weekly shifts of its date do not take place.
    pub const fn closes(&self) -> bool {
        matches!(self, Self::Holiday(_) | Self::Closed(_))
    }

    pub(super) const fn order(&self) -> (NaiveDate, bool, u16) {
        let minutes = match self {
            Self::Overtime(overtime) => overtime.starts.minutes_since_midnight(),
            Self::Holiday(_) | Self::Closed(_) => 0,
        };
        (self.date(), !self.closes(), minutes)
    }
}
