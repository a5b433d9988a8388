//! The window of a report: two instants, or local dates of the site.

use super::instant::Instant;
use crate::problem::{Code, FieldError, Place, Problem};
use chrono::NaiveDate;
use chrono_tz::Tz;
use spindlebook_domain::local_time::start_of_day;
use spindlebook_domain::time::{Timestamp, Window};

/// A year with room for the week around it.
pub const WINDOW_DAYS_MAX: i64 = 400;

/// A date stands for the beginning of its day at the site, as `to` too: the window is what lies before it.
pub fn read(zone: Tz, from: &str, to: &str) -> Result<Window, Problem> {
    let window = Window::new(edge(zone, "from", from)?, edge(zone, "to", to)?);
    if window.is_empty() {
        let detail = format!(
            "it must be after `from`, and {} is not after {}",
            window.to, window.from
        );
        return Err(wrong("to", detail));
    }
    if window.us() > WINDOW_DAYS_MAX * spindlebook_domain::time::US_PER_DAY {
        let detail = format!("the window is longer than {WINDOW_DAYS_MAX} days; ask for it in parts");
        return Err(wrong("to", detail));
    }
    Ok(window)
}

pub fn edge(zone: Tz, name: &'static str, text: &str) -> Result<Timestamp, Problem> {
    let date = NaiveDate::parse_from_str(text, "%Y-%m-%d").ok();
    let read = date.map(|date| start_of_day(zone, date));
    let read = read.or_else(|| text.parse::<Instant>().ok().map(|at| at.0));
    let at = read.ok_or_else(|| {
        let text: String = text.chars().take(40).collect();
        let detail = format!(
            "`{text}` is neither an instant nor a date: write 2026-11-02T06:00:00Z (a + of an offset as %2B) or \
             2026-11-02"
        );
        wrong(name, detail)
    })?;
    if at.is_in_ledger_range() {
        Ok(at)
    } else {
        let (earliest, latest) = (Timestamp::MIN, Timestamp::MAX);
        Err(wrong(
            name,
            format!("{at} is not between {earliest} and {latest}"),
        ))
    }
}

fn wrong(name: &'static str, detail: String) -> Problem {
    let sentence = format!("Parameter {name}: {detail}.");
    Problem::new(Code::QueryInvalid, sentence).with_field(FieldError::at(
        Place::parameter(name),
        "invalid",
        detail,
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono_tz::Europe::Berlin;

    #[test]
    fn a_date_is_the_beginning_of_its_day_at_the_site() {
        let window = read(Berlin, "2026-10-25", "2026-10-26").unwrap();
        // The clocks go back on that day, so it has 25 hours (zone database).
        assert_eq!(window.us(), 25 * 3_600 * 1_000_000);
        assert_eq!(window.from.to_string(), "2026-10-24T22:00:00Z");
        assert_eq!(
            read(Berlin, "2026-10-25T00:00:00+02:00", "2026-10-25T23:00:00Z").unwrap(),
            window
        );
    }

    #[test]
    fn a_wrong_edge_is_named_with_what_would_be_right() {
        for (from, to, parameter, right) in [
            ("2026-11-02", "2026-11-02", "to", "after"),
            ("2026-11-02", "2027-12-24", "to", "400 days"),
            ("2026-11-32", "2026-12-01", "from", "2026-11-02"),
            ("yesterday", "2026-12-01", "from", "2026-11-02T06:00:00Z"),
            ("1970-01-01", "1970-02-01", "from", "2000-01-01T00:00:00Z"),
            ("2026-01-01", "9999-12-31", "to", "2200-01-01T00:00:00Z"),
        ] {
            let body: serde_json::Value =
                serde_json::from_slice(&read(Berlin, from, to).unwrap_err().body()).unwrap();
            assert_eq!(body["errors"][0]["parameter"], parameter, "{body}");
            assert!(
                body["errors"][0]["detail"].as_str().unwrap().contains(right),
                "{body}"
            );
        }
    }
}
