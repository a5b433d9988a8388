use chrono::{NaiveDate, NaiveDateTime, NaiveTime, TimeDelta};
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

const MINUTES_PER_DAY: u16 = 1_440;

/// A time on the wall clock to the minute; in payloads `"HH:MM"`, from `"00:00"` to `"23:59"`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct TimeOfDay(u16);

#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is no time of day: write HH:MM from 00:00 to 23:59 (midnight is 00:00)")]
pub struct NotATimeOfDay(pub String);

impl TimeOfDay {
    pub const fn new(hour: u16, minute: u16) -> Option<Self> {
        if hour < 24 && minute < 60 {
            Some(Self(hour * 60 + minute))
        } else {
            None
        }
    }

    pub const fn minutes_since_midnight(self) -> u16 {
        self.0
    }

    /// By the wall clock, over midnight where `later` is the smaller one; 0 where they are equal.
    pub const fn minutes_until(self, later: Self) -> u16 {
        (later.0 + MINUTES_PER_DAY - self.0) % MINUTES_PER_DAY
    }

    /// The length of a shift: one that ends at the time at which it began has gone round the clock.
    pub(super) const fn shift_minutes_until(self, ends: Self) -> u16 {
        match self.minutes_until(ends) {
            0 => MINUTES_PER_DAY,
            minutes => minutes,
        }
    }

    /// The local time `minutes` after this time on `date`, by the wall clock.
    pub(super) fn local(self, date: NaiveDate, minutes: u16) -> NaiveDateTime {
        let midnight = date.and_time(NaiveTime::MIN);
        let since_midnight = TimeDelta::minutes(i64::from(self.0) + i64::from(minutes));
        midnight.checked_add_signed(since_midnight).unwrap_or(midnight)
    }

    #[must_use]
    pub(super) const fn plus_minutes(self, minutes: u16) -> Self {
        Self((self.0 + minutes % MINUTES_PER_DAY) % MINUTES_PER_DAY)
    }
}

impl fmt::Display for TimeOfDay {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:02}:{:02}", self.0 / 60, self.0 % 60)
    }
}

impl FromStr for TimeOfDay {
    type Err = NotATimeOfDay;
    fn from_str(text: &str) -> Result<Self, NotATimeOfDay> {
        let refused = || NotATimeOfDay(text.to_owned());
        let [h1, h2, b':', m1, m2] = *text.as_bytes() else {
            return Err(refused());
        };
        if ![h1, h2, m1, m2].iter().all(u8::is_ascii_digit) {
            return Err(refused());
        }
        let number = |tens: u8, ones: u8| u16::from(tens - b'0') * 10 + u16::from(ones - b'0');
        Self::new(number(h1, h2), number(m1, m2)).ok_or_else(refused)
    }
}

impl TryFrom<String> for TimeOfDay {
    type Error = NotATimeOfDay;
    fn try_from(text: String) -> Result<Self, NotATimeOfDay> {
        text.parse()
    }
}

impl From<TimeOfDay> for String {
    fn from(time: TimeOfDay) -> Self {
        time.to_string()
    }
}
