//! Machine 03 of the NIST Smart Manufacturing Systems Test Bed, 2016 to 2020: source, licence and convention in
//! tests/data/nist/README.md.

use super::{at, data};
use crate::hours::{ByCategory, Category, RowSeconds, sweep};
use crate::machine_state::MachineState;
use crate::stretches::{MachineMarks, Mark, Source, normalise};
use crate::time::{Timestamp, US_PER_DAY, Window};
use chrono::{Days, NaiveDate, NaiveTime, TimeZone, Weekday};
use chrono_tz::America::New_York;
use std::collections::BTreeSet;

/// Truth and sweep may differ by this much a row.
const TOLERANCE_S: f64 = 0.5;
/// 2016-01-01 to 2021-01-01.
const ALL: Window = Window::new(Timestamp(1_451_606_400_000_000), Timestamp(1_609_459_200_000_000));
const NOW: Timestamp = ALL.to;

#[expect(
    clippy::cast_precision_loss,
    reason = "five years in microseconds are far below 2^53"
)]
fn seconds(us: i64) -> f64 {
    us as f64 / 1e6
}

fn file_day(text: &str) -> NaiveDate {
    NaiveDate::parse_from_str(text, "%Y%m%d").unwrap()
}

/// Day files run from 05:00Z to 05:00Z all year.
fn file_window(day: NaiveDate) -> Window {
    let from = Timestamp::from_utc(day.and_time(NaiveTime::from_hms_opt(5, 0, 0).unwrap()).and_utc());
    Window::new(from, from.plus_us(US_PER_DAY))
}

struct Line {
    file: NaiveDate,
    at: Timestamp,
    state: MachineState,
}

/// Sorted by (timestamp, order in the files). Where a state would last beyond the end of its file, the file is closed
/// with UNAVAILABLE. (A file may begin with a line of the day before; that state is not closed by the file before.)
fn log() -> Vec<Line> {
    let text = data("nist/machine03_execution.csv");
    let line = |line: &str| {
        let [day, time, state] = line.split(',').collect::<Vec<_>>().try_into().unwrap();
        let state = MachineState::parse(state).unwrap();
        Line {
            file: file_day(day),
            at: at(time),
            state,
        }
    };
    let mut lines: Vec<_> = text.lines().skip(1).map(line).collect();
    lines.sort_by_key(|line| line.at);
    let nexts = lines.iter().skip(1).map(|line| line.at).chain([Timestamp::MAX]);
    let closings = lines.iter().zip(nexts).filter(|(line, next)| {
        let end = file_window(line.file).to;
        line.at < end && end < *next
    });
    let closings: Vec<_> = closings
        .map(|(line, _)| Line {
            file: line.file,
            at: file_window(line.file).to,
            state: MachineState::Unavailable,
        })
        .collect();
    lines.extend(closings);
    lines.sort_by_key(|line| line.at);
    lines
}

/// As an import sends it: batches of 5,000 rows, each compared with what is known already.
fn marks(states_as: impl Fn(MachineState) -> MachineState) -> MachineMarks {
    let mut entries: Vec<(Source, Vec<Mark>)> = Vec::new();
    let mut known = MachineMarks::default();
    for (batch, seq) in log().chunks(5_000).zip(1..) {
        let batch: Vec<_> = batch
            .iter()
            .map(|line| (line.at, states_as(line.state)))
            .collect();
        let new = normalise(&known.signals, None, &batch).rows;
        let marks = new
            .into_iter()
            .map(|(at, state)| Mark::State { at, state })
            .collect();
        entries.push((
            Source {
                seq,
                recorded_at: NOW,
            },
            marks,
        ));
        known = MachineMarks::from_entries(entries.iter().cloned());
    }
    known
}

fn swept(windows: &[Window], states_as: impl Fn(MachineState) -> MachineState) -> Vec<ByCategory> {
    let rows = sweep(&marks(states_as), windows, &[], NOW, None);
    assert!(
        rows.iter()
            .all(|row: &RowSeconds| row.seconds.sum() == row.window_s)
    );
    rows.into_iter().map(|row| row.us).collect()
}

fn days() -> Vec<(NaiveDate, Vec<f64>)> {
    let text = data("nist/machine03_truth_day.csv");
    let day = |line: &str| {
        let mut fields = line.split(',');
        let day = file_day(fields.next().unwrap());
        (
            day,
            fields.map(|field| field.parse().unwrap_or(f64::NAN)).collect(),
        )
    };
    text.lines().skip(1).map(day).collect()
}

const COLUMNS: [MachineState; 6] = [
    MachineState::Active,
    MachineState::Ready,
    MachineState::Stopped,
    MachineState::Interrupted,
    MachineState::FeedHold,
    MachineState::ProgramStopped,
];

#[test]
fn every_day_has_the_cutting_seconds_of_the_truth_table() {
    let days = days();
    assert_eq!(days.len(), 250);
    let windows: Vec<_> = days.iter().map(|(day, _)| file_window(*day)).collect();
    for ((day, truth), us) in days.iter().zip(swept(&windows, |state| state)) {
        let found = seconds(us.in_cycle());
        assert!(
            (found - truth[0]).abs() <= TOLERANCE_S,
            "{day}: {found} for {}",
            truth[0]
        );
    }
}

/// The table counts by file, hours go by the clock. Nine files begin with a line of the evening before, in which
/// nothing ran: their days are compared together with the day before.
fn spans() -> Vec<(Window, Vec<f64>)> {
    let began_early: BTreeSet<_> = log()
        .into_iter()
        .filter(|line| line.state != MachineState::Unavailable && line.at < file_window(line.file).from)
        .map(|line| line.file)
        .collect();
    assert_eq!(began_early.len(), 9);
    let mut spans: Vec<(Window, Vec<f64>)> = Vec::new();
    for (day, truth) in days() {
        let window = file_window(day);
        let day_before = Window::new(window.from.plus_us(-US_PER_DAY), window.to);
        match spans.last_mut() {
            Some((span, sums)) if began_early.contains(&day) && span.to == window.from => {
                span.to = window.to;
                sums.iter_mut().zip(truth).for_each(|(sum, truth)| *sum += truth);
            }
            _ if began_early.contains(&day) => spans.push((day_before, truth)),
            _ => spans.push((window, truth)),
        }
    }
    spans
}

/// One state at a time is in cycle, so that the table's six columns can be told apart.
#[test]
fn every_day_has_the_seconds_of_each_state_of_the_truth_table() {
    let spans = spans();
    let windows: Vec<_> = spans.iter().map(|span| span.0).collect();
    for (column, wanted) in COLUMNS.into_iter().enumerate() {
        let alone = |state| {
            if state == wanted {
                MachineState::Active
            } else {
                MachineState::Unavailable
            }
        };
        for ((window, truth), us) in spans.iter().zip(swept(&windows, alone)) {
            let (found, truth) = (seconds(us.in_cycle()), truth[column]);
            assert!(
                (found - truth).abs() <= TOLERANCE_S,
                "{} {wanted}: {found} for {truth}",
                window.from
            );
        }
    }
}

#[test]
fn every_day_has_each_state_in_its_category() {
    let spans = spans();
    let windows: Vec<_> = spans.iter().map(|span| span.0).collect();
    for ((window, truth), us) in spans.iter().zip(swept(&windows, |state| state)) {
        let [active, ready, stopped, interrupted, feed_hold, program_stopped] = truth[..6] else {
            unreachable!()
        };
        let is = |us: i64, truth: f64| (seconds(us) - truth).abs() <= TOLERANCE_S;
        assert!(is(us.in_cycle(), active), "{}", window.from);
        assert!(
            is(
                us[Category::StoppedInRun],
                interrupted + feed_hold + program_stopped
            ),
            "{}",
            window.from
        );
        assert!(
            is(us[Category::IdleUnattended], ready + stopped),
            "{}",
            window.from
        );
        let not_known = seconds(window.us()) - truth[..6].iter().sum::<f64>();
        assert!(is(us[Category::NotKnown], not_known), "{}", window.from);
    }
}

#[test]
fn every_iso_week_of_new_york_has_the_hours_of_the_truth_table() {
    let midnight = |date: NaiveDate| {
        Timestamp::from_utc(
            New_York
                .from_local_datetime(&date.and_time(NaiveTime::MIN))
                .unwrap()
                .to_utc(),
        )
    };
    let text = data("nist/machine03_truth_week.csv");
    let week = |line: &str| {
        let (week, hours) = line.split_once(',').unwrap();
        let (year, week) = week.split_once("-W").unwrap();
        let monday =
            NaiveDate::from_isoywd_opt(year.parse().unwrap(), week.parse().unwrap(), Weekday::Mon).unwrap();
        let window = Window::new(
            midnight(monday),
            midnight(monday.checked_add_days(Days::new(7)).unwrap()),
        );
        (line.to_owned(), window, hours.parse::<f64>().unwrap())
    };
    let weeks: Vec<_> = text.lines().skip(1).map(week).collect();
    assert_eq!(weeks.len(), 100);
    let windows: Vec<_> = weeks.iter().map(|(_, window, _)| *window).collect();
    for ((line, _, hours), us) in weeks.iter().zip(swept(&windows, |state| state)) {
        let found = seconds(us.in_cycle());
        assert!(
            (found - hours * 3_600.0).abs() <= TOLERANCE_S,
            "{line}: {found} s"
        );
    }
}

/// The control's own automatic-operation counter counts a run with its interruptions; on these days nothing was lost.
/// It shows why "spindle hours" has to be defined: on 2016-05-05 the two definitions differ by a factor of two.
#[test]
fn states_agree_with_the_counters_of_the_control() {
    let wanted = [
        ("20160505", 16_176.2, 16_205.1, 32_383.0),
        ("20160503", 11_323.7, 2_236.3, 13_541.0),
        ("20170209", 192.3, 0.0, 192.0),
    ];
    for (day, active, interrupted, counter) in wanted {
        let us = swept(&[file_window(file_day(day))], |state| match state {
            MachineState::Active | MachineState::Interrupted => state,
            _ => MachineState::Unavailable,
        })[0];
        let (in_cycle, in_run) = (seconds(us.in_cycle()), seconds(us[Category::StoppedInRun]));
        assert!(
            (in_cycle - active).abs() <= TOLERANCE_S && (in_run - interrupted).abs() <= TOLERANCE_S,
            "{day}"
        );
        assert!(
            (in_cycle + in_run - counter).abs() <= 0.002 * counter,
            "{day}: {in_cycle} + {in_run} for {counter}"
        );
    }
}

#[test]
fn the_whole_log_has_the_published_totals() {
    let all = [Window::new(
        at("2016-01-01T00:00:00Z"),
        at("2021-01-01T00:00:00Z"),
    )];
    let us = swept(&all, |state| state)[0];
    let hours = |us: i64| (seconds(us) / 36.0).round() / 100.0;
    assert!((hours(us.in_cycle()) - 287.83).abs() < 0.001);
    let idle = us[Category::IdleUnattended];
    assert!((hours(idle) - (532.00 + 816.40)).abs() < 0.011);
    let in_run = us[Category::StoppedInRun];
    assert!((hours(in_run) - (62.35 + 10.99 + 13.29)).abs() < 0.011);
}
