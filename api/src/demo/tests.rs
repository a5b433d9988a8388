mod floor;
mod folded;
mod hours;

use super::frame::ZONE;
use super::log::Log;
use super::{Frame, History, history};
use chrono::{NaiveDate, NaiveTime, TimeZone};
use spindlebook_domain::calendar::{shifts_in, staffed};
use spindlebook_domain::command::Command;
use spindlebook_domain::ids::MachineId;
use spindlebook_domain::machine_state::MachineState;
use spindlebook_domain::time::{Timestamp, Window};
use std::collections::BTreeMap;

const SEED: u64 = 1;

fn local(year: i32, month: u32, day: u32, hour: u32) -> Timestamp {
    let date = NaiveDate::from_ymd_opt(year, month, day).unwrap();
    let time = date.and_time(NaiveTime::from_hms_opt(hour, 0, 0).unwrap());
    Timestamp::from_utc(ZONE.from_local_datetime(&time).unwrap().to_utc())
}

/// A Wednesday in November, 31 days after the clocks changed, and one in September, half a year after.
fn instants() -> [Timestamp; 2] {
    [local(2026, 11, 25, 10), local(2026, 9, 16, 23)]
}

/// Everything that the machines' signals say.
fn logs(history: &History) -> BTreeMap<MachineId, Log> {
    let mut logs = BTreeMap::<_, Log>::new();
    for step in &history.steps {
        if let Command::ReceiveSignals(command) = &step.command {
            logs.entry(command.machine)
                .or_default()
                .rows
                .extend(command.rows.iter().copied());
        }
    }
    logs.retain(|_, log| !log.rows.is_empty());
    logs
}

fn cuts(history: &History) -> Vec<Window> {
    let of = |command: &Command| match command {
        Command::ReceiveSignals(command) => command.cycles.clone(),
        _ => Vec::new(),
    };
    history.steps.iter().flat_map(|step| of(&step.command)).collect()
}

#[test]
fn the_same_seed_and_instant_give_the_same_history() {
    let told = |seed, now| {
        let history = history(seed, now).unwrap();
        (
            format!("{:?}", history.steps),
            folded::fold(&history).payloads_sha256,
        )
    };
    let [now, _] = instants();
    assert_eq!(told(SEED, now), told(SEED, now));
    assert_ne!(told(SEED, now).1, told(2, now).1);
}

#[test]
fn whatever_the_day_the_history_holds_a_clock_change_and_ends_now() {
    for day in 1..=365 {
        let now = local(2026, 1, 1, 11).plus_s(day * 86_400);
        let frame = Frame::ending(now);
        assert!(frame.all().contains(frame.clock_change), "{now}");
        assert!(now.since_us(frame.begins()) >= 35 * 86_400 * 1_000_000, "{now}");
        // 2026: 29 March and 25 October (European Union, directive 2000/84/EC).
        let change = frame.clock_change.to_string();
        assert!(
            [
                "2025-10-26T01:00:00Z",
                "2026-03-29T01:00:00Z",
                "2026-10-25T01:00:00Z"
            ]
            .contains(&change.as_str())
        );
    }
}

#[test]
fn a_history_is_physically_plausible() {
    for now in instants() {
        let history = history(SEED, now).unwrap();
        let logs = logs(&history);
        assert_eq!(logs.len(), 3);
        for log in logs.values() {
            assert!(log.rows.is_sorted_by(|one, other| one.0 < other.0));
            assert!(log.rows.iter().all(|(at, _)| *at <= now));
            let runs = runs(log);
            assert!(runs.len() > 100, "{}", runs.len());
            let (shortest, longest) = (runs.iter().min().unwrap(), runs.iter().max().unwrap());
            // A cut of 15 to 120 minutes; a broken-off one may be shorter, one that waited for its operator is told apart.
            assert!((60..=125 * 60).contains(longest), "{longest}");
            assert!(*shortest >= 60, "{shortest}");
        }
        let all = logs
            .values()
            .flat_map(|log| log.rows.iter().map(|(_, state)| *state));
        let seen: std::collections::BTreeSet<_> = all.collect();
        for state in [
            MachineState::Unavailable,
            MachineState::Off,
            MachineState::Interrupted,
            MachineState::Ready,
        ] {
            assert!(seen.contains(&state), "{state}");
        }
        for cut in cuts(&history) {
            assert!((15 * 60..=39 * 60).contains(&(cut.us() / 1_000_000)));
        }
    }
}

/// Lengths of the uninterrupted stretches in cycle, in seconds.
fn runs(log: &Log) -> Vec<i64> {
    let nexts = log.rows.iter().zip(log.rows.iter().skip(1));
    let ended_by_itself = nexts.filter(|((_, state), (_, next))| {
        *state == MachineState::Active && *next == MachineState::ProgramCompleted
    });
    ended_by_itself
        .map(|((from, _), (to, _))| to.since_us(*from) / 1_000_000)
        .collect()
}

/// Common practice, no source: a pool cell cuts for 50 to 70 % of its staffed time, nights included; a standalone machine
/// for about 30 %.
#[test]
fn pools_cut_more_than_the_standalone_machine() {
    for (seed, now) in [(1, instants()[0]), (2, instants()[0]), (3, instants()[1])] {
        let history = history(seed, now).unwrap();
        let frame = &history.frame;
        let detailed = Window::new(
            frame.wall(frame.detailed_from, 0, 0),
            frame.wall(frame.this_week, 0, 0),
        );
        let us = |windows: Vec<Window>| windows.into_iter().map(Window::us).sum::<i64>();
        let staffed_us = us(staffed(&frame.site_calendar, ZONE, detailed));
        let is_active = |state| state == MachineState::Active;
        let active_s = |log: &Log| {
            log.seconds_until(detailed.to, is_active) - log.seconds_until(detailed.from, is_active)
        };
        let logs = logs(&history);
        let machines = i64::try_from(logs.len()).unwrap();
        let percent = logs.values().map(active_s).sum::<i64>() * 100 * 1_000_000 / (staffed_us * machines);
        assert!((50..=70).contains(&percent), "seed {seed}: pools {percent} %");
        let cut_us = us(cuts(&history)
            .into_iter()
            .filter_map(|cut| cut.overlap(detailed))
            .collect());
        let percent = cut_us * 100 / us(staffed(&frame.day_calendar, ZONE, detailed));
        assert!(
            (24..=36).contains(&percent),
            "seed {seed}: standalone {percent} %"
        );
    }
}

#[test]
fn a_night_run_crosses_the_clock_change() {
    for now in instants() {
        let history = history(SEED, now).unwrap();
        let change = history.frame.clock_change;
        assert!(
            logs(&history).values().any(|log| runs_over(log, change)),
            "{change}"
        );
    }
}

/// In cycle at an instant or within the exchange after it.
fn runs_over(log: &Log, at: Timestamp) -> bool {
    (0..=180)
        .step_by(20)
        .any(|s| log.state_at(at.plus_s(s)) == Some(MachineState::Active))
}

#[test]
fn every_shift_is_reported_when_it_is_over_and_every_week_has_its_plan() {
    let history = history(SEED, instants()[0]).unwrap();
    let frame = &history.frame;
    let plans = history
        .steps
        .iter()
        .filter(|step| matches!(step.command, Command::PublishPlan(_)));
    let plans: Vec<_> = plans.map(|step| step.recorded_at).collect();
    // Six Mondays, and one more for the breakdown.
    assert_eq!(plans.len(), 7);
    for shift in shifts_in(
        &frame.site_calendar,
        ZONE,
        Window::new(frame.wall(frame.detailed_from, 6, 0), frame.now),
    ) {
        assert!(plans.iter().any(|at| *at <= shift.window.from));
    }
    let told =
        |command: fn(&Command) -> bool| history.steps.iter().filter(|step| command(&step.command)).count();
    assert_eq!(told(|command| matches!(command, Command::SetMachineDown(_))), 1);
    assert_eq!(told(|command| matches!(command, Command::SetMachineUp(_))), 1);
    assert!(told(|command| matches!(command, Command::ReceiveReadings(_))) > 100);
    assert!(history.steps.is_sorted_by_key(|step| step.recorded_at));
}

/// The history is decided twice: while it is told, and here with the machines' signals in between.
#[test]
fn no_rule_has_anything_against_the_history_on_any_day_of_the_year() {
    for weeks in 0..8 {
        // Every seventh week, on another weekday and at another hour each time.
        let now = local(2026, 1, 5, 7).plus_s(weeks * 50 * 86_400 + weeks * 10_300);
        let history = history(u64::try_from(weeks).unwrap(), now).unwrap();
        let folded = folded::fold(&history);
        assert_eq!((folded.shop.cells.len(), folded.shop.machines.len()), (3, 4));
        floor::is_sound(&folded.shop);
    }
}
