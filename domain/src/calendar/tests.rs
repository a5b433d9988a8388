mod dates;
mod properties;
mod refusals;

use super::*;
use crate::time::{Timestamp, US_PER_SECOND, Window};
use chrono_tz::Tz;
use serde_json::{Value, json};

const BERLIN: Tz = Tz::Europe__Berlin;
const WEEKDAYS: [&str; 7] = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"];

fn calendar(value: Value) -> Calendar {
    serde_json::from_value(value).unwrap()
}

fn versions(value: Value) -> CalendarVersions {
    let mut versions = CalendarVersions::default();
    versions.set(date("2000-01-01"), calendar(value));
    versions
}

/// The same shift on each day of the week.
fn daily(name: &str, starts: &str, ends: &str, breaks: &Value) -> Vec<Value> {
    let shift =
        |weekday| json!({"name": name, "weekday": weekday, "starts": starts, "ends": ends, "breaks": breaks});
    WEEKDAYS.map(shift).to_vec()
}

fn nights(breaks: &Value) -> CalendarVersions {
    versions(json!({"shifts": daily("night", "22:00", "06:00", breaks)}))
}

fn date(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

fn utc(text: &str) -> Timestamp {
    Timestamp::from_utc(text.parse().unwrap())
}

fn window(from: &str, to: &str) -> Window {
    Window::new(utc(from), utc(to))
}

const fn minutes(us: i64) -> i64 {
    us / US_PER_SECOND / 60
}

#[test]
fn a_calendar_reads_back_in_order_as_it_was_written() {
    let written = json!({
        "shifts": [
            {"name": "early", "weekday": "Mon", "starts": "06:00", "ends": "14:00",
             "breaks": [{"starts": "08:00", "ends": "08:15"}, {"starts": "11:00", "ends": "11:30"}]},
            {"name": "night", "weekday": "Mon", "starts": "22:00", "ends": "06:00",
             "breaks": [{"starts": "23:30", "ends": "23:45"}, {"starts": "02:00", "ends": "02:30"}]},
        ],
        "exceptions": [
            {"closed": {"date": "2026-12-24"}},
            {"holiday": {"date": "2026-12-25", "name": "Christmas Day"}},
            {"overtime": {"date": "2026-12-25", "name": "furnace watch", "starts": "08:00", "ends": "10:00",
                          "breaks": []}},
        ],
    });
    let mut shuffled = written.clone();
    for list in ["/shifts", "/exceptions", "/shifts/0/breaks", "/shifts/1/breaks"] {
        shuffled
            .pointer_mut(list)
            .unwrap()
            .as_array_mut()
            .unwrap()
            .reverse();
    }
    assert_eq!(serde_json::to_value(calendar(shuffled)).unwrap(), written);
}

#[test]
fn versions_read_back() {
    let mut versions = nights(&json!([]));
    versions.set(date("2026-01-01"), Calendar::default());
    let text = serde_json::to_string(&versions).unwrap();
    assert_eq!(serde_json::from_str::<CalendarVersions>(&text).unwrap(), versions);
    let dates: Vec<_> = versions.iter().map(|(valid_from, _)| valid_from).collect();
    assert_eq!(dates, [date("2000-01-01"), date("2026-01-01")]);
}

#[test]
fn the_newest_version_that_is_valid_by_then_applies() {
    let (early, late) = (
        calendar(json!({"shifts": daily("early", "06:00", "14:00", &json!([]))})),
        calendar(json!({"shifts": daily("late", "14:00", "22:00", &json!([]))})),
    );
    let mut versions = CalendarVersions::default();
    assert!(versions.is_empty());
    versions.set(date("2026-06-01"), late.clone());
    versions.set(date("2026-01-01"), late.clone());
    versions.set(date("2026-01-01"), early.clone());
    assert_eq!(versions.len(), 2);
    assert_eq!(versions.for_date(date("2025-12-31")), &Calendar::default());
    assert_eq!(versions.version_for(date("2025-12-31")), None);
    assert_eq!(versions.for_date(date("2026-01-01")), &early);
    assert_eq!(versions.for_date(date("2026-05-31")), &early);
    assert_eq!(
        versions.version_for(date("2026-06-01")),
        Some((date("2026-06-01"), &late))
    );
    assert_eq!(versions.for_date(date("2199-01-01")), &late);
}

#[test]
fn times_of_day_are_hours_and_minutes() {
    for text in ["00:00", "06:05", "23:59"] {
        assert_eq!(text.parse::<TimeOfDay>().unwrap().to_string(), text);
    }
    for text in [
        "", "6:05", "24:00", "12:60", "12.00", "12:00:00", "-1:00", "１2:00", "12:0 ", "aa:bb",
    ] {
        let refusal = text.parse::<TimeOfDay>().unwrap_err();
        assert!(
            refusal.to_string().contains("write HH:MM from 00:00 to 23:59"),
            "{text}"
        );
    }
}
