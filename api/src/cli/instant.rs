//! Instants and dates as people type them.

use chrono::{DateTime, NaiveDate, NaiveDateTime};
use chrono_tz::Tz;
use spindlebook_domain::local_time::{resolve, start_of_day};
use spindlebook_domain::time::Timestamp;

/// Reads RFC 3339 with its offset; digits beyond the microsecond are cut off. The error says what would be right.
pub fn rfc3339(text: &str) -> Result<Timestamp, String> {
    let at = DateTime::parse_from_rfc3339(text).map_err(|_| {
        let looks = if local(text).is_some() {
            "says no offset to UTC: end it with Z for UTC, or with an offset like +01:00"
        } else if text.parse::<f64>().is_ok() {
            "is a number: write an instant as RFC 3339 does, like 2026-10-24T06:00:00Z"
        } else {
            "is no instant as RFC 3339 writes it, like 2026-10-24T06:00:00Z or 2026-10-24T08:00:00.250+02:00"
        };
        format!("`{}` {looks}", shortened(text))
    })?;
    let at = Timestamp::from_utc(at.to_utc());
    if at.is_in_ledger_range() {
        Ok(at)
    } else {
        Err(format!(
            "`{}` is not between {} and {}: was the clock set?",
            shortened(text),
            Timestamp::MIN,
            Timestamp::MAX
        ))
    }
}

/// Reads the name of an IANA zone.
pub fn zone(text: &str) -> Result<Tz, String> {
    text.parse().map_err(|_| {
        format!(
            "`{}` is no IANA time zone: use a name like Europe/Berlin or America/New_York",
            shortened(text)
        )
    })
}

/// Reads an instant with its offset, a local time of the zone, or a date, which means its first instant.
pub fn in_zone(text: &str, zone: Tz) -> Result<Timestamp, String> {
    let at = if let Ok(date) = NaiveDate::parse_from_str(text, "%Y-%m-%d") {
        start_of_day(zone, date)
    } else if let Some(local) = local(text) {
        resolve(zone, local, None).map_err(|refusal| refusal.to_string())?
    } else {
        return rfc3339(text);
    };
    if at.is_in_ledger_range() {
        Ok(at)
    } else {
        Err(format!(
            "`{text}` is not between {} and {}",
            Timestamp::MIN,
            Timestamp::MAX
        ))
    }
}

/// A bad input is never repeated at greater length than a person can read.
pub fn shortened(text: &str) -> String {
    const CHARS_MAX: usize = 40;
    let mut shown: String = text.chars().take(CHARS_MAX).collect();
    if text.chars().nth(CHARS_MAX).is_some() {
        shown.push('…');
    }
    shown
}

fn local(text: &str) -> Option<NaiveDateTime> {
    const FORMATS: [&str; 4] = [
        "%Y-%m-%dT%H:%M",
        "%Y-%m-%dT%H:%M:%S%.f",
        "%Y-%m-%d %H:%M",
        "%Y-%m-%d %H:%M:%S%.f",
    ];
    FORMATS
        .iter()
        .find_map(|format| NaiveDateTime::parse_from_str(text, format).ok())
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono_tz::Europe::Berlin;

    #[test]
    fn an_instant_needs_its_offset_and_the_error_says_so() {
        assert_eq!(
            rfc3339("2026-10-24T08:00:00.25+02:00"),
            Ok(Timestamp(1_792_821_600_250_000))
        );
        for (text, told) in [
            ("2026-10-24T08:00:00", "offset"),
            ("2026-10-24 08:00", "offset"),
            ("1792821600", "number"),
            ("24.10.2026 08:00", "RFC 3339"),
            ("1970-01-01T00:00:00Z", "was the clock set?"),
            ("9999-01-01T00:00:00Z", "was the clock set?"),
        ] {
            let refused = rfc3339(text).unwrap_err();
            assert!(refused.contains(told), "{refused}");
        }
    }

    // E04 and E05: a local time that does not exist, and one that exists twice (Berlin).
    #[test]
    fn a_local_time_is_never_guessed() {
        assert_eq!(in_zone("2026-10-24", Berlin), rfc3339("2026-10-23T22:00:00Z"));
        assert_eq!(
            in_zone("2026-10-24T08:00", Berlin),
            rfc3339("2026-10-24T06:00:00Z")
        );
        let missing = in_zone("2027-03-28T02:30", Berlin).unwrap_err();
        assert!(missing.contains("does not exist"), "{missing}");
        assert!(
            missing.contains("01:30") && missing.contains("03:30"),
            "{missing}"
        );
        let twice = in_zone("2026-10-25T02:30", Berlin).unwrap_err();
        assert!(twice.contains("exists twice"), "{twice}");
    }
}
