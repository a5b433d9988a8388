//! Whatever calendar, zone and date: what the rest of the book builds on.

use super::*;
use crate::code::Name;
use crate::local_time::next_day;
use chrono::{Datelike, Days, Weekday};
use proptest::prelude::*;
use std::collections::BTreeSet;

type Hours = (u16, u16);

fn time(minute: u16) -> TimeOfDay {
    TimeOfDay::new(minute / 60, minute % 60).unwrap()
}

fn name() -> Name {
    "shift".parse().unwrap()
}

fn weekly(day: u8, (from, to): Hours, breaks: Vec<Break>) -> WeeklyShift {
    let weekday = Weekday::try_from(day).unwrap();
    WeeklyShift {
        name: name(),
        weekday,
        starts: time(from),
        ends: time(to),
        breaks,
    }
}

/// Quarters of an hour, so that shifts often touch each other and the hours that change.
fn any_hours() -> impl Strategy<Value = Hours> {
    (0..96_u16, 0..96_u16).prop_map(|(from, to)| (from * 15, to * 15))
}

fn any_shift() -> impl Strategy<Value = WeeklyShift> {
    (0..7_u8, any_hours(), prop::collection::vec(any_hours(), 0..3)).prop_map(|(day, hours, breaks)| {
        let breaks = breaks.into_iter().map(|(from, to)| Break {
            starts: time(from),
            ends: time(to),
        });
        weekly(day, hours, breaks.collect())
    })
}

fn any_exception(first: NaiveDate) -> impl Strategy<Value = CalendarException> {
    (0..12_u64, 0..4_u8, any_hours()).prop_map(move |(days, kind, (from, to))| {
        let date = first + Days::new(days);
        match kind {
            0 => CalendarException::Closed(Closed { date }),
            1 => CalendarException::Holiday(Holiday { date, name: name() }),
            _ => CalendarException::Overtime(Overtime {
                date,
                name: name(),
                starts: time(from),
                ends: time(to),
                breaks: Vec::new(),
            }),
        }
    })
}

/// As many of the given shifts and exceptions as are valid together.
fn as_far_as_valid(shifts: Vec<WeeklyShift>, exceptions: Vec<CalendarException>) -> Calendar {
    let mut taken = Calendar::default();
    for shift in shifts {
        let more = [taken.shifts(), &[shift]].concat();
        taken = Calendar::new(more, Vec::new()).unwrap_or(taken);
    }
    for exception in exceptions {
        let more = [taken.exceptions(), &[exception]].concat();
        taken = Calendar::new(taken.shifts().to_vec(), more).unwrap_or(taken);
    }
    taken
}

fn any_calendar(first: NaiveDate) -> impl Strategy<Value = Calendar> {
    let shifts = prop::collection::vec(any_shift(), 0..30);
    (shifts, prop::collection::vec(any_exception(first), 0..8))
        .prop_map(|(shifts, exceptions)| as_far_as_valid(shifts, exceptions))
}

/// A zone, twelve days around one of its clock changes, and a calendar that is replaced on one of these days.
fn any_floor() -> impl Strategy<Value = (Tz, NaiveDate, CalendarVersions)> {
    let changes = vec![
        (BERLIN, "2026-03-23"),
        (BERLIN, "2026-10-19"),
        (Tz::America__Havana, "2026-10-26"),
        (Tz::America__Sao_Paulo, "2018-10-29"),
        (Tz::America__St_Johns, "2010-11-01"),
        (Tz::Australia__Lord_Howe, "2026-09-28"),
        (Tz::Pacific__Apia, "2011-12-25"),
    ];
    prop::sample::select(changes).prop_flat_map(|(zone, first)| {
        let first = date(first);
        (any_calendar(first), any_calendar(first), 0..12_u64).prop_map(move |(before, after, days)| {
            let mut versions = CalendarVersions::default();
            versions.set(date("2000-01-01"), before);
            versions.set(first + Days::new(days), after);
            (zone, first, versions)
        })
    })
}

fn twelve_days(first: NaiveDate) -> impl Iterator<Item = NaiveDate> {
    first.iter_days().take(12)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn production_days_tile_time_and_hold_their_shifts((zone, first, versions) in any_floor()) {
        for date in twelve_days(first) {
            let day = production_day(&versions, zone, date);
            prop_assert!(day.from <= day.to);
            prop_assert_eq!(day.to, production_day(&versions, zone, next_day(date)).from);
            for shift in shifts_of(&versions, zone, date) {
                prop_assert_eq!(shift.shift_date, date);
                prop_assert_eq!(day.overlap(shift.window), Some(shift.window));
            }
        }
    }

    #[test]
    fn a_window_finds_the_shifts_of_its_dates((zone, first, versions) in any_floor(), from in 0..8_000_i64, length in 0..9_000_i64) {
        let from = crate::local_time::start_of_day(zone, first).plus_s(from * 60);
        let window = Window::new(from, from.plus_s(length * 60));
        let around = (first - Days::new(3)).iter_days().take(20);
        let by_date: Vec<_> = around
            .flat_map(|date| shifts_of(&versions, zone, date))
            .filter(|shift| shift.window.overlap(window).is_some())
            .collect();
        let found = shifts_in(&versions, zone, window);
        prop_assert!(found.windows(2).all(|pair| pair[0].window.to <= pair[1].window.from));
        prop_assert_eq!(&found, &by_date);
    }

    #[test]
    fn staffed_time_and_breaks_are_the_attended_time((zone, first, versions) in any_floor()) {
        let window = Window::new(
            production_day(&versions, zone, first).from,
            production_day(&versions, zone, first + Days::new(11)).to,
        );
        let mut breaks_us = 0;
        for shift in shifts_in(&versions, zone, window) {
            let mut free_from = shift.window.from;
            for pause in shift.breaks {
                prop_assert!(free_from <= pause.from && pause.from < pause.to && pause.to <= shift.window.to);
                free_from = pause.to;
                breaks_us += pause.us();
            }
        }
        let attended = attended(&versions, zone, window);
        let attended_us: i64 = attended.iter().map(|stretch| stretch.us()).sum();
        prop_assert_eq!(staffed_us(&versions, zone, window) + breaks_us, attended_us);
        prop_assert!(attended.windows(2).all(|pair| pair[0].to < pair[1].from));
    }

    /// The model paints quarters of an hour: a calendar is right if none is painted twice.
    #[test]
    fn a_calendar_is_accepted_if_no_quarter_is_taken_twice(
        shifts in prop::collection::vec((0..7_u8, any_hours()), 0..5),
        exceptions in prop::collection::vec(any_exception(date("2026-06-01")), 0..4),
    ) {
        let shifts: Vec<_> = shifts.into_iter().map(|(day, hours)| weekly(day, hours, Vec::new())).collect();
        let closed: Vec<_> = exceptions.iter().filter(|one| one.closes()).map(CalendarException::date).collect();
        let no_date_twice = closed.iter().collect::<BTreeSet<_>>().len() == closed.len();
        // Weeks beside the exceptions see the weekly shifts alone.
        let ordinary = date("2026-05-11").iter_days().take(15);
        let accepted = Calendar::new(shifts.clone(), exceptions.clone()).is_ok();
        let right = no_date_twice
            && paints_once(&shifts, &[], ordinary)
            && paints_once(&shifts, &exceptions, date("2026-05-30").iter_days().take(18));
        prop_assert_eq!(accepted, right);
    }
}

fn paints_once(
    shifts: &[WeeklyShift],
    exceptions: &[CalendarException],
    dates: impl Iterator<Item = NaiveDate>,
) -> bool {
    let mut painted = BTreeSet::new();
    let mut paint = |date: NaiveDate, starts: TimeOfDay, ends: TimeOfDay| {
        let quarters = match (ends.minutes_since_midnight() + 1_440 - starts.minutes_since_midnight()) % 1_440
        {
            0 => 96,
            minutes => minutes / 15,
        };
        let from = i64::from(date.num_days_from_ce()) * 96 + i64::from(starts.minutes_since_midnight() / 15);
        (from..from + i64::from(quarters)).all(|quarter| painted.insert(quarter))
    };
    let mut once = true;
    for date in dates {
        let on_date = || exceptions.iter().filter(|exception| exception.date() == date);
        if !on_date().any(CalendarException::closes) {
            for shift in shifts.iter().filter(|shift| shift.weekday == date.weekday()) {
                once &= paint(date, shift.starts, shift.ends);
            }
        }
        for exception in on_date() {
            if let CalendarException::Overtime(one) = exception {
                once &= paint(date, one.starts, one.ends);
            }
        }
    }
    once
}
