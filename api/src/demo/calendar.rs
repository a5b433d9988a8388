//! The invented shop's working hours.

use super::frame::{Frame, later};
use chrono::{NaiveDate, Weekday};
use spindlebook_domain::calendar::{
    Break, Calendar, CalendarException, CalendarVersions, Holiday, Overtime, TimeOfDay, WeeklyShift,
};
use spindlebook_domain::code::Name;

const WORKDAYS: [Weekday; 5] = [
    Weekday::Mon,
    Weekday::Tue,
    Weekday::Wed,
    Weekday::Thu,
    Weekday::Fri,
];

/// Early and late shift, a works holiday, and Saturdays of overtime.
pub fn of_site(frame: &Frame) -> CalendarVersions {
    let early = |weekday| shift("early", weekday, (6, 14), &[(9, 0, 15), (12, 0, 30)]);
    let late = |weekday| shift("late", weekday, (14, 22), &[(16, 0, 15), (18, 30, 30)]);
    let shifts = WORKDAYS
        .into_iter()
        .flat_map(|weekday| [early(weekday), late(weekday)])
        .flatten();
    let holiday = holiday(frame);
    let mut exceptions: Vec<_> = name("Works holiday")
        .map(|name| CalendarException::Holiday(Holiday { date: holiday, name }))
        .into_iter()
        .collect();
    let ordinary = frame.day(2, Weekday::Sat);
    exceptions.extend(overtime(ordinary, (6, 12)));
    if frame.long_saturday() != ordinary {
        exceptions.extend(overtime(frame.long_saturday(), (18, 2)));
    }
    versions(frame, shifts.collect(), exceptions)
}

/// One day shift; the same holiday.
pub fn of_days(frame: &Frame) -> CalendarVersions {
    let day = |weekday| shift("day", weekday, (7, 16), &[(9, 0, 15), (12, 0, 45)]);
    let holiday = holiday(frame);
    let exceptions =
        name("Works holiday").map(|name| CalendarException::Holiday(Holiday { date: holiday, name }));
    versions(
        frame,
        WORKDAYS.into_iter().filter_map(day).collect(),
        exceptions.into_iter().collect(),
    )
}

fn holiday(frame: &Frame) -> NaiveDate {
    frame.day(4, Weekday::Thu)
}

/// The lists here are right by construction, and a test looks; a wrong one would leave the shop without shifts.
fn versions(frame: &Frame, shifts: Vec<WeeklyShift>, exceptions: Vec<CalendarException>) -> CalendarVersions {
    let mut versions = CalendarVersions::default();
    versions.set(frame.first, Calendar::new(shifts, exceptions).unwrap_or_default());
    versions
}

/// `pauses`: hour, minute and length in minutes.
fn shift(
    named: &str,
    weekday: Weekday,
    (from, to): (u16, u16),
    pauses: &[(u16, u16, u16)],
) -> Option<WeeklyShift> {
    let pause = |(hour, minute, length): &(u16, u16, u16)| {
        let ends = hour * 60 + minute + length;
        Some(Break {
            starts: TimeOfDay::new(*hour, *minute)?,
            ends: TimeOfDay::new(ends / 60, ends % 60)?,
        })
    };
    Some(WeeklyShift {
        name: name(named)?,
        weekday,
        starts: TimeOfDay::new(from, 0)?,
        ends: TimeOfDay::new(to, 0)?,
        breaks: pauses.iter().filter_map(pause).collect(),
    })
}

fn overtime(date: NaiveDate, (from, to): (u16, u16)) -> Option<CalendarException> {
    Some(CalendarException::Overtime(Overtime {
        date,
        name: name("overtime")?,
        starts: TimeOfDay::new(from, 0)?,
        ends: TimeOfDay::new(to, 0)?,
        breaks: Vec::new(),
    }))
}

fn name(text: &str) -> Option<Name> {
    text.parse().ok()
}

/// The dates of the story.
pub fn dates(frame: &Frame) -> impl Iterator<Item = NaiveDate> {
    let last = later(frame.this_week, 7);
    std::iter::successors(Some(frame.first), NaiveDate::succ_opt).take_while(move |date| *date < last)
}
