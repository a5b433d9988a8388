mod counters;
mod floor;
mod iso22400;
mod nist;
mod planned;
mod properties;
mod report;
mod seconds;

use crate::machine_state::MachineState;
use crate::stretches::{MachineMarks, Mark, Source};
use crate::time::{Timestamp, Window};
use chrono::{DateTime, NaiveDateTime, TimeZone};
use chrono_tz::Tz;
use std::fs;

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
