mod counters;
mod floor;
mod iso22400;
mod nist;
mod people;
mod people_properties;
mod planned;
mod properties;
mod report;
mod rows;
mod seconds;
mod touched;

use super::rows::Cut;
use super::{CellInput, HoursReport, MachineInput, Plans};
use crate::calendar::{Break, Calendar, CalendarVersions, TimeOfDay, WeeklyShift, attended, staffed};
use crate::ids::MachineId;
use crate::machine_state::MachineState;
use crate::stretches::{MachineMarks, Mark, Source};
use crate::time::{Timestamp, Window};
use chrono::{DateTime, NaiveDate, NaiveDateTime, TimeZone, Weekday};
use chrono_tz::Tz;
use std::fs;
use uuid::Uuid;

pub const MINUTE_S: i64 = 60;
pub const HOUR_S: i64 = 3_600;

pub fn at(rfc3339: &str) -> Timestamp {
    Timestamp::from_utc(DateTime::parse_from_rfc3339(rfc3339).unwrap().to_utc())
}

/// A wall time that exists once.
pub fn wall(zone: Tz, time: &str) -> Timestamp {
    let time = NaiveDateTime::parse_from_str(time, "%Y-%m-%d %H:%M").unwrap();
    Timestamp::from_utc(zone.from_local_datetime(&time).unwrap().to_utc())
}

pub fn window(from: &str, to: &str) -> Window {
    Window::new(at(from), at(to))
}

pub fn state(time: Timestamp, state: MachineState) -> Mark {
    Mark::State { at: time, state }
}

/// Entry 1 with all the marks, recorded at the last of them.
pub fn marks_of(marks: Vec<Mark>) -> MachineMarks {
    let recorded_at = marks.iter().map(Mark::at).max().unwrap_or(Timestamp::MIN);
    MachineMarks::from_entries([(Source { seq: 1, recorded_at }, marks)])
}

pub fn entry(seq: u64, recorded_at: &str, marks: Vec<Mark>) -> (Source, Vec<Mark>) {
    let source = Source {
        seq,
        recorded_at: at(recorded_at),
    };
    (source, marks)
}

pub fn data(path: &str) -> String {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../tests/data/");
    fs::read_to_string(format!("{folder}{path}")).unwrap()
}

pub fn time_of_day(text: &str) -> TimeOfDay {
    let (hour, minute) = text.split_once(':').unwrap();
    TimeOfDay::new(hour.parse().unwrap(), minute.parse().unwrap()).unwrap()
}

pub type Times<'a> = (&'a str, &'a str);

/// The same shifts every day of the week: name, times, break.
pub fn every_day(shifts: &[(&str, Times, Option<Times>)]) -> CalendarVersions {
    const DAYS: [Weekday; 7] = [
        Weekday::Mon,
        Weekday::Tue,
        Weekday::Wed,
        Weekday::Thu,
        Weekday::Fri,
        Weekday::Sat,
        Weekday::Sun,
    ];
    let weekly = |weekday| {
        shifts
            .iter()
            .map(move |(name, (starts, ends), pause)| WeeklyShift {
                name: name.parse().unwrap(),
                weekday,
                starts: time_of_day(starts),
                ends: time_of_day(ends),
                breaks: pause
                    .iter()
                    .map(|(starts, ends)| Break {
                        starts: time_of_day(starts),
                        ends: time_of_day(ends),
                    })
                    .collect(),
            })
    };
    let calendar = Calendar::new(DAYS.into_iter().flat_map(weekly).collect(), Vec::new()).unwrap();
    let mut versions = CalendarVersions::default();
    versions.set(NaiveDate::from_ymd_opt(2020, 1, 1).unwrap(), calendar);
    versions
}

/// A report of machines in one cell, over whole rows.
pub fn report_of(
    cut: &Cut,
    request: Window,
    machines: &[(MachineId, MachineMarks)],
    plans: &Plans,
    as_of: Timestamp,
) -> HoursReport {
    let machines: Vec<_> = machines
        .iter()
        .map(|(machine, marks)| MachineInput {
            machine: *machine,
            marks,
            silent_after_s: None,
        })
        .collect();
    let cell = CellInput {
        staffed: &staffed(cut.calendar, cut.zone, request),
        attended: &attended(cut.calendar, cut.zone, request),
        plans,
        machines: &machines,
    };
    super::report(super::rows::rows(cut, request, as_of), &cell, as_of)
}

pub fn machine(number: u128) -> MachineId {
    MachineId(Uuid::from_u128(number))
}
