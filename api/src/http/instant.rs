//! Instants as they come and go: RFC 3339 in, any offset; RFC 3339 in UTC out.

use chrono::{DateTime, NaiveDateTime};
use serde::de::{Error, Visitor};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use spindlebook_domain::local_time::Occurrence;
use spindlebook_domain::time::Timestamp;
use std::fmt;
use utoipa::ToSchema;

/// More precise than the ledger keeps is cut to the microsecond.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Instant(pub Timestamp);

#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "`{0}` is no instant: write RFC 3339 with an offset, like 2026-11-02T06:00:00Z or 2026-11-02T07:00:00+01:00"
)]
pub struct NotAnInstant(pub String);

impl std::str::FromStr for Instant {
    type Err = NotAnInstant;
    fn from_str(text: &str) -> Result<Self, NotAnInstant> {
        match DateTime::parse_from_rfc3339(text) {
            Ok(at) => Ok(Self(Timestamp::from_utc(at.to_utc()))),
            Err(_) => Err(NotAnInstant(text.chars().take(40).collect())),
        }
    }
}

impl Serialize for Instant {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(&self.0)
    }
}

impl From<Timestamp> for Instant {
    fn from(at: Timestamp) -> Self {
        Self(at)
    }
}

/// What the wall clock at the site showed; which instant that is depends on the zone, and sometimes on a choice.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AtLocal {
    #[schema(value_type = crate::http::text::LocalTime)]
    pub local: LocalTime,
    /// Needed only where the clocks go back and this local time comes twice.
    #[schema(inline)]
    pub occurrence: Option<OccurrenceName>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum OccurrenceName {
    First,
    Second,
}

impl From<OccurrenceName> for Occurrence {
    fn from(name: OccurrenceName) -> Self {
        match name {
            OccurrenceName::First => Self::First,
            OccurrenceName::Second => Self::Second,
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LocalTime(pub NaiveDateTime);

#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is no local time: write the date and the wall clock without an offset, like 2026-10-25T02:30")]
pub struct NotALocalTime(pub String);

impl std::str::FromStr for LocalTime {
    type Err = NotALocalTime;
    fn from_str(text: &str) -> Result<Self, NotALocalTime> {
        let refused = || NotALocalTime(text.chars().take(40).collect());
        let forms = ["%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S%.f"];
        let read = forms
            .iter()
            .find_map(|form| NaiveDateTime::parse_from_str(text, form).ok());
        read.map(Self).ok_or_else(refused)
    }
}

macro_rules! deserialize_from_text {
    ($($kind:ident, $expecting:literal);+ $(;)?) => {$(
        impl<'de> Deserialize<'de> for $kind {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                struct Reading;

                impl Visitor<'_> for Reading {
                    type Value = $kind;

                    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                        f.write_str($expecting)
                    }

                    fn visit_str<E: Error>(self, text: &str) -> Result<$kind, E> {
                        text.parse().map_err(E::custom)
                    }
                }

                deserializer.deserialize_str(Reading)
            }
        }
    )+};
}

deserialize_from_text! {
    Instant, "an RFC 3339 instant like 2026-11-02T06:00:00Z";
    LocalTime, "a local time like 2026-10-25T02:30";
}

#[cfg(test)]
mod tests {
    use super::*;

    // RFC 3339, section 5.8: the five examples, and the instants that it says they stand for.
    #[test]
    fn the_examples_of_rfc_3339_read() {
        for (text, utc) in [
            ("1985-04-12T23:20:50.52Z", "1985-04-12T23:20:50.520Z"),
            ("1996-12-19T16:39:57-08:00", "1996-12-20T00:39:57Z"),
            ("1990-12-31T23:59:60Z", "1991-01-01T00:00:00Z"),
            ("1990-12-31T15:59:60-08:00", "1991-01-01T00:00:00Z"),
            ("1937-01-01T12:00:27.87+00:20", "1937-01-01T11:40:27.870Z"),
        ] {
            assert_eq!(
                text.parse::<Instant>().map(|at| at.0.to_string()),
                Ok(utc.to_owned()),
                "{text}"
            );
        }
    }

    #[test]
    fn what_has_no_offset_or_no_such_date_is_no_instant() {
        for text in [
            "2026-11-02T06:00:00",
            "2026-02-30T06:00:00Z",
            "2026-11-02",
            "06:00Z",
            "",
            "now",
            "1700000000",
        ] {
            assert_eq!(text.parse::<Instant>(), Err(NotAnInstant(text.to_owned())));
        }
        assert!("2026-10-25T02:30Z".parse::<LocalTime>().is_err());
        assert!("2026-10-25 02:30".parse::<LocalTime>().is_err());
    }

    #[test]
    fn a_local_time_may_leave_the_seconds_out() {
        let (short, long) = ("2026-10-25T02:30", "2026-10-25T02:30:00.000");
        assert_eq!(short.parse::<LocalTime>(), long.parse::<LocalTime>());
    }
}
