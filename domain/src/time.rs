//! Instants and windows. Everything is UTC to the microsecond; a zone is used only to cut days and shifts.

use chrono::{DateTime, SecondsFormat, Utc};
use serde::{Deserialize, Serialize};
use std::fmt;

pub const US_PER_SECOND: i64 = 1_000_000;
pub const US_PER_DAY: i64 = 86_400 * US_PER_SECOND;

/// An instant: microseconds since 1970-01-01T00:00:00Z. In payloads it is that integer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Timestamp(pub i64);

impl Timestamp {
    /// The first instant that the ledger takes: 2000-01-01T00:00:00Z. Earlier ones are clocks that lost their time.
    pub const MIN: Self = Self(946_684_800 * US_PER_SECOND);
    /// The end of what the ledger takes: 2200-01-01T00:00:00Z. Microseconds stay exact in JSON readers until 2255.
    pub const MAX: Self = Self(7_258_118_400 * US_PER_SECOND);

    pub const fn us(self) -> i64 {
        self.0
    }

    pub fn from_utc(at: DateTime<Utc>) -> Self {
        Self(at.timestamp_micros())
    }

    /// `None` outside of chrono's range, which [`Timestamp::MIN`] and [`Timestamp::MAX`] lie well inside of.
    pub fn to_utc(self) -> Option<DateTime<Utc>> {
        DateTime::from_timestamp_micros(self.0)
    }

    pub fn is_in_ledger_range(self) -> bool {
        (Self::MIN..Self::MAX).contains(&self)
    }

    #[must_use]
    pub const fn plus_us(self, us: i64) -> Self {
        Self(self.0.saturating_add(us))
    }

    #[must_use]
    pub const fn plus_s(self, seconds: i64) -> Self {
        self.plus_us(seconds.saturating_mul(US_PER_SECOND))
    }

    /// Microseconds from `earlier` to `self`; negative when `self` is the earlier one.
    pub const fn since_us(self, earlier: Self) -> i64 {
        self.0.saturating_sub(earlier.0)
    }

    /// The UTC day: whole days since 1970-01-01.
    pub const fn utc_day(self) -> i64 {
        self.0.div_euclid(US_PER_DAY)
    }
}

impl fmt::Display for Timestamp {
    /// RFC 3339 in UTC with as many fraction digits as needed (0, 3 or 6).
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.to_utc() {
            Some(at) => f.write_str(&at.to_rfc3339_opts(SecondsFormat::AutoSi, true)),
            None => write!(f, "{} us", self.0),
        }
    }
}

/// A stretch of time: from `from` until just before `to`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Window {
    pub from: Timestamp,
    pub to: Timestamp,
}

impl Window {
    pub const fn new(from: Timestamp, to: Timestamp) -> Self {
        Self { from, to }
    }

    pub const fn us(self) -> i64 {
        let us = self.to.0.saturating_sub(self.from.0);
        if us > 0 { us } else { 0 }
    }

    pub const fn is_empty(self) -> bool {
        self.to.0 <= self.from.0
    }

    pub const fn contains(self, at: Timestamp) -> bool {
        self.from.0 <= at.0 && at.0 < self.to.0
    }

    pub const fn encloses(self, other: Self) -> bool {
        self.from.0 <= other.from.0 && other.to.0 <= self.to.0
    }

    /// What the two have in common, if anything.
    pub fn overlap(self, other: Self) -> Option<Self> {
        let common = Self {
            from: self.from.max(other.from),
            to: self.to.min(other.to),
        };
        (!common.is_empty()).then_some(common)
    }
}
