//! Local times: the one place that decides what a wall clock means on the days on which the clocks change.
//!
//! A time that a person types is never guessed ([`resolve`]). A boundary that the calendar computes must mean
//! something every day, so it has a fixed rule ([`boundary`]).

#[cfg(test)]
mod tests;

use crate::time::{Timestamp, US_PER_SECOND, Window};
use chrono::{DateTime, Datelike, Days, MappedLocalTime, Months, NaiveDate, NaiveDateTime, NaiveTime};
use chrono::{Offset, TimeZone};
use chrono_tz::{GapInfo, Tz, TzOffset};
use serde::{Deserialize, Serialize};
use std::fmt;

/// Which of the two, where the clocks go back and a local time exists twice.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Occurrence {
    First,
    Second,
}

/// An instant as the wall clock of a zone shows it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LocalInstant {
    pub at: Timestamp,
    pub local: NaiveDateTime,
    /// Local time minus UTC.
    pub utc_offset_s: i32,
}

/// A typed local time that does not mean exactly one instant.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum LocalTimeRefusal {
    #[error(
        "{local} does not exist in {zone}: the clocks go forward over it; say {} or {}",
        earlier.local, later.local
    )]
    DoesNotExist {
        zone: Tz,
        local: NaiveDateTime,
        /// What `local` means with the offset after the jump.
        earlier: LocalInstant,
        /// What `local` means with the offset before the jump.
        later: LocalInstant,
    },
    #[error(
        "{local} exists twice in {zone}: say whether the first ({first}) or the second ({second}) is meant"
    )]
    ExistsTwice {
        zone: Tz,
        local: NaiveDateTime,
        first: LocalInstant,
        second: LocalInstant,
    },
}

impl LocalTimeRefusal {
    pub const CODES: &'static [&'static str] = &["local-time.does-not-exist", "local-time.exists-twice"];

    pub const fn code(&self) -> &'static str {
        match self {
            Self::DoesNotExist { .. } => "local-time.does-not-exist",
            Self::ExistsTwice { .. } => "local-time.exists-twice",
        }
    }
}

impl fmt::Display for LocalInstant {
    /// RFC 3339 with the offset, so that two occurrences of one local time read differently.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (sign, minutes) = (
            if self.utc_offset_s < 0 { '-' } else { '+' },
            self.utc_offset_s.abs() / 60,
        );
        write!(f, "{:?}{sign}{:02}:{:02}", self.local, minutes / 60, minutes % 60)
    }
}

/// The instant that a person means by a local time. `choice` is only looked at where the time exists twice.
pub fn resolve(
    zone: Tz,
    local: NaiveDateTime,
    choice: Option<Occurrence>,
) -> Result<Timestamp, LocalTimeRefusal> {
    match meaning(zone, local) {
        Meaning::Once(at) => Ok(at),
        Meaning::Twice { first, second } => match choice {
            Some(Occurrence::First) => Ok(first),
            Some(Occurrence::Second) => Ok(second),
            None => Err(LocalTimeRefusal::ExistsTwice {
                zone,
                local,
                first: local_instant(zone, first),
                second: local_instant(zone, second),
            }),
        },
        Meaning::Never { before, after, .. } => Err(LocalTimeRefusal::DoesNotExist {
            zone,
            local,
            earlier: local_instant(zone, instant(local, after)),
            later: local_instant(zone, instant(local, before)),
        }),
    }
}

/// What the wall clock of `zone` shows at an instant.
pub fn local_instant(zone: Tz, at: Timestamp) -> LocalInstant {
    let utc = at.to_utc().unwrap_or(if at.us() < 0 {
        DateTime::<chrono::Utc>::MIN_UTC
    } else {
        DateTime::<chrono::Utc>::MAX_UTC
    });
    let offset = zone.offset_from_utc_datetime(&utc.naive_utc()).fix();
    LocalInstant {
        at,
        local: utc
            .naive_utc()
            .checked_add_offset(offset)
            .unwrap_or(utc.naive_utc()),
        utc_offset_s: offset.local_minus_utc(),
    }
}

/// Where a boundary of the calendar lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Boundary {
    pub at: Timestamp,
    /// The local time exists exactly once, as on nearly all days.
    pub once: bool,
}

/// The instant of a boundary that the calendar computes: the start or end of a shift, a break, a day.
///
/// In a gap it is the instant of the jump: nothing lies between, and the people on the floor see the clock pass it
/// then. A time that exists twice is its first occurrence, for starts because people come when the clock first says so,
/// and for ends because a shift must end where the next one begins. One rule for both keeps the order of the wall
/// clock: what ends before another begins on paper never overlaps it in time.
pub fn boundary(zone: Tz, local: NaiveDateTime) -> Boundary {
    match meaning(zone, local) {
        Meaning::Once(at) => Boundary { at, once: true },
        Meaning::Twice { first, .. } => Boundary {
            at: first,
            once: false,
        },
        Meaning::Never { jump, .. } => Boundary {
            at: jump,
            once: false,
        },
    }
}

/// The first instant of a civil date; where midnight does not exist, the instant of the jump over it.
pub fn start_of_day(zone: Tz, date: NaiveDate) -> Timestamp {
    boundary(zone, date.and_time(NaiveTime::MIN)).at
}

/// The date whose [`day_window`] holds the instant. That is the date on the wall, except where clocks once went back
/// over midnight and yesterday's date came up again for an hour (St. John's until 2011).
pub fn local_date(zone: Tz, at: Timestamp) -> NaiveDate {
    let date = local_instant(zone, at).local.date();
    let next = next_day(date);
    if next > date && start_of_day(zone, next) <= at {
        next
    } else {
        date
    }
}

/// A civil date: 23 to 25 hours around clock changes; empty where a zone left a date out.
pub fn day_window(zone: Tz, date: NaiveDate) -> Window {
    Window::new(start_of_day(zone, date), start_of_day(zone, next_day(date)))
}

/// The ISO week (Monday to Sunday) that holds the date.
pub fn iso_week_window(zone: Tz, date: NaiveDate) -> Window {
    let monday = monday_of(date);
    let next = monday.checked_add_days(Days::new(7)).unwrap_or(NaiveDate::MAX);
    Window::new(start_of_day(zone, monday), start_of_day(zone, next))
}

/// The calendar month that holds the date.
pub fn month_window(zone: Tz, date: NaiveDate) -> Window {
    let first = first_of_month(date);
    let next = first.checked_add_months(Months::new(1)).unwrap_or(NaiveDate::MAX);
    Window::new(start_of_day(zone, first), start_of_day(zone, next))
}

/// The Monday of the date's ISO week.
pub fn monday_of(date: NaiveDate) -> NaiveDate {
    let days = u64::from(date.weekday().num_days_from_monday());
    date.checked_sub_days(Days::new(days)).unwrap_or(NaiveDate::MIN)
}

pub fn first_of_month(date: NaiveDate) -> NaiveDate {
    date.with_day(1).unwrap_or(date)
}

pub(crate) fn next_day(date: NaiveDate) -> NaiveDate {
    date.succ_opt().unwrap_or(date)
}

pub(crate) fn previous_day(date: NaiveDate) -> NaiveDate {
    date.pred_opt().unwrap_or(date)
}

enum Meaning {
    Once(Timestamp),
    Twice {
        first: Timestamp,
        second: Timestamp,
    },
    Never {
        before: TzOffset,
        after: TzOffset,
        jump: Timestamp,
    },
}

fn meaning(zone: Tz, local: NaiveDateTime) -> Meaning {
    match zone.offset_from_local_datetime(&local) {
        MappedLocalTime::Single(offset) => Meaning::Once(instant(local, offset)),
        MappedLocalTime::Ambiguous(one, other) => {
            let (one, other) = (instant(local, one), instant(local, other));
            Meaning::Twice {
                first: one.min(other),
                second: one.max(other),
            }
        }
        MappedLocalTime::None => in_gap(zone, local),
    }
}

fn in_gap(zone: Tz, local: NaiveDateTime) -> Meaning {
    match GapInfo::new(&local, &zone) {
        Some(GapInfo {
            begin: Some((_, before)),
            end: Some(end),
        }) => Meaning::Never {
            before,
            after: *end.offset(),
            jump: Timestamp::from_utc(end.to_utc()),
        },
        // A gap lies between two known stretches of a zone; without both there is none, and the offset is the one in use.
        _ => Meaning::Once(instant(local, zone.offset_from_utc_datetime(&local))),
    }
}

fn instant(local: NaiveDateTime, offset: TzOffset) -> Timestamp {
    let offset_us = i64::from(offset.fix().local_minus_utc()) * US_PER_SECOND;
    Timestamp(local.and_utc().timestamp_micros().saturating_sub(offset_us))
}
