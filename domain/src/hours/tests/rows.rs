use super::{every_day, wall};
use crate::calendar::CalendarVersions;
use crate::hours::rows::{By, Cut, DayRule, Row, RowKind, rows};
use crate::time::{Timestamp, Window};
use chrono_tz::Europe::Berlin;
use proptest::prelude::*;

const EVERYTHING: Timestamp = Timestamp::MAX;

fn shop() -> CalendarVersions {
    every_day(&[
        ("Early", ("06:00", "14:00"), None),
        ("Night", ("22:00", "06:00"), None),
    ])
}

fn cut(calendar: &CalendarVersions, by: By, rule: DayRule) -> Cut<'_> {
    Cut {
        calendar,
        zone: Berlin,
        by,
        rule,
    }
}

fn request(from: &str, to: &str) -> Window {
    Window::new(wall(Berlin, from), wall(Berlin, to))
}

fn names(rows: &[Row]) -> Vec<(&str, i64)> {
    rows.iter()
        .map(|row| (row.name.as_str(), row.window.us() / 3_600_000_000))
        .collect()
}

#[test]
fn shifts_and_the_gaps_between_them_are_rows() {
    let calendar = shop();
    let rows = rows(
        &cut(&calendar, By::Shift, DayRule::Calendar),
        request("2026-06-10 23:00", "2026-06-11 15:00"),
        EVERYTHING,
    );
    assert_eq!(names(&rows), [("Night", 7), ("Early", 8), ("gap", 1)]);
    assert_eq!(
        rows.iter().map(|row| row.kind).collect::<Vec<_>>(),
        [RowKind::Shift, RowKind::Shift, RowKind::Gap]
    );
    assert_eq!(
        rows.iter().map(Row::is_clipped).collect::<Vec<_>>(),
        [true, false, true]
    );
    assert_eq!(rows[0].whole, request("2026-06-10 22:00", "2026-06-11 06:00"));
    assert_eq!(rows[0].date.to_string(), "2026-06-10", "the shift date");
    assert_eq!(rows[2].whole, request("2026-06-11 14:00", "2026-06-11 22:00"));
    assert!(rows.iter().all(|row| !row.in_progress && row.pieces.len() == 1));
    assert_eq!(rows[2].pieces[0].began, wall(Berlin, "2026-06-11 14:00"));
}

/// Source: IANA time zone database; also in tests of the calendar.
#[test]
fn night_shifts_are_as_long_as_the_night() {
    let calendar = shop();
    let night = |from, to| {
        let rows = rows(
            &cut(&calendar, By::Shift, DayRule::Calendar),
            request(from, to),
            EVERYTHING,
        );
        rows[0].window.us() / 3_600_000_000
    };
    assert_eq!(night("2026-03-28 22:00", "2026-03-29 06:00"), 7);
    assert_eq!(night("2026-10-24 22:00", "2026-10-25 06:00"), 9);
}

#[test]
fn rows_after_now_are_left_out_and_the_one_in_progress_is_cut() {
    let calendar = shop();
    let asked = request("2026-06-11 06:00", "2026-06-12 06:00");
    let now = wall(Berlin, "2026-06-11 16:00");
    let shifts = rows(&cut(&calendar, By::Shift, DayRule::Calendar), asked, now);
    assert_eq!(names(&shifts), [("Early", 8), ("gap", 2)]);
    assert_eq!((shifts[0].in_progress, shifts[1].in_progress), (false, true));
    assert!(shifts[1].is_clipped());
    let ended = rows(
        &cut(&calendar, By::Shift, DayRule::Calendar),
        asked,
        wall(Berlin, "2026-06-11 14:00"),
    );
    assert_eq!((names(&ended), ended[0].in_progress), (vec![("Early", 8)], false));
    let later = Window::new(asked.to, asked.to.plus_s(3_600));
    assert_eq!(rows(&cut(&calendar, By::Day, DayRule::Calendar), later, now), []);
}

#[test]
fn a_part_of_a_day_that_is_over_is_clipped_and_not_in_progress() {
    let calendar = shop();
    let now = wall(Berlin, "2026-06-11 16:00");
    let part = rows(
        &cut(&calendar, By::Day, DayRule::Calendar),
        request("2026-06-11 00:00", "2026-06-11 12:00"),
        now,
    );
    assert_eq!((part[0].is_clipped(), part[0].in_progress), (true, false));
}

/// Source: ISO 8601 as computed by other software for these dates: 2026-12-31 is in week 53, 2027-01-04 begins week 1.
#[test]
fn weeks_are_iso_weeks_in_the_sites_zone() {
    let calendar = CalendarVersions::default();
    let weeks = rows(
        &cut(&calendar, By::Week, DayRule::Calendar),
        request("2026-12-28 00:00", "2027-01-11 00:00"),
        EVERYTHING,
    );
    assert_eq!(names(&weeks), [("2026-W53", 168), ("2027-W01", 168)]);
    let changes = rows(
        &cut(&calendar, By::Week, DayRule::Calendar),
        request("2026-10-19 00:00", "2026-10-26 00:00"),
        EVERYTHING,
    );
    assert_eq!(names(&changes), [("2026-W43", 169)]);
    let months = rows(
        &cut(&calendar, By::Month, DayRule::Calendar),
        request("2026-10-01 00:00", "2026-12-01 00:00"),
        EVERYTHING,
    );
    assert_eq!(names(&months), [("2026-10", 31 * 24 + 1), ("2026-11", 30 * 24)]);
    assert_eq!(weeks[0].date.to_string(), "2026-12-28");
}

#[test]
fn by_shift_date_a_week_is_its_seven_production_days() {
    let calendar = every_day(&[("Night", ("22:00", "06:00"), None)]);
    let weeks = rows(
        &cut(&calendar, By::Week, DayRule::ShiftDate),
        request("2026-06-08 22:00", "2026-06-15 22:00"),
        EVERYTHING,
    );
    assert_eq!(names(&weeks), [("2026-W24", 168)]);
    assert!(!weeks[0].is_clipped());
    let days = rows(
        &cut(&calendar, By::Day, DayRule::ShiftDate),
        request("2026-06-10 12:00", "2026-06-12 12:00"),
        EVERYTHING,
    );
    assert_eq!(
        names(&days),
        [("2026-06-09", 10), ("2026-06-10", 24), ("2026-06-11", 14)]
    );
    let month = rows(
        &cut(&calendar, By::Month, DayRule::ShiftDate),
        request("2026-06-01 22:00", "2026-07-01 22:00"),
        EVERYTHING,
    );
    assert_eq!(names(&month), [("2026-06", 720)]);
}

#[test]
fn without_a_calendar_all_is_one_gap() {
    let calendar = CalendarVersions::default();
    let rows = rows(
        &cut(&calendar, By::Shift, DayRule::Calendar),
        request("2026-06-10 05:00", "2026-06-12 05:00"),
        EVERYTHING,
    );
    assert_eq!(names(&rows), [("gap", 48)]);
    assert!(!rows[0].is_clipped());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn rows_and_their_pieces_tile_the_request(
        from_s in 0..400 * 86_400_i64, length_s in 1..40 * 86_400_i64,
        by in prop_oneof![Just(By::Shift), Just(By::Day), Just(By::Week), Just(By::Month)],
        rule in prop_oneof![Just(DayRule::Calendar), Just(DayRule::ShiftDate)],
    ) {
        let calendar = shop();
        let from = wall(Berlin, "2026-01-01 00:00").plus_s(from_s);
        let request = Window::new(from, from.plus_s(length_s));
        let mut at = request.from;
        for row in rows(&cut(&calendar, by, rule), request, EVERYTHING) {
            prop_assert_eq!(row.window.from, at);
            prop_assert!(row.whole.from <= row.window.from && row.window.to <= row.whole.to);
            for piece in &row.pieces {
                prop_assert_eq!(piece.window.from, at);
                prop_assert!(piece.began <= piece.window.from);
                at = piece.window.to;
            }
            prop_assert_eq!(at, row.window.to);
        }
        prop_assert_eq!(at, request.to);
    }
}
