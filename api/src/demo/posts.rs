//! When machines report: at midnight and at the ends of shifts, so that a shift's hours are whole when it is over.

use super::Step;
use super::calendar::dates;
use super::dice::Dice;
use super::frame::{Frame, ZONE, later};
use super::log::Log;
use super::shop::PoolMachine;
use chrono::Weekday;
use spindlebook_domain::actor::Actor;
use spindlebook_domain::calendar::{CalendarVersions, shifts_in};
use spindlebook_domain::ids::MachineId;
use spindlebook_domain::machine::{Reading, ReceiveReadings, ReceiveSignals};
use spindlebook_domain::machine_state::MachineState;
use spindlebook_domain::time::{Timestamp, US_PER_SECOND, Window};
use std::collections::BTreeSet;

const GATEWAY: &str = "gateway-1";
/// In cut is less than in cycle: rapid moves, tool changes, probing.
const IN_CUT_PERCENT: i64 = 81;

/// Signals, and the control's counters at the ends of shifts.
pub fn of_pool_machine(
    machine: &PoolMachine,
    log: &Log,
    frame: &Frame,
    gateway: Actor,
    dice: &mut Dice,
) -> Vec<Step> {
    let mut log = log.clone();
    let counted = log.clone();
    if machine.loses_contact {
        let (from, to) = contact_lost(frame);
        log.replace(from, to, &[(from, MachineState::Unavailable)]);
    }
    let mut steps = Vec::new();
    let shift_ends = shift_ends(&frame.site_calendar, frame);
    let mut next = 0;
    for at in reports(&frame.site_calendar, frame) {
        if machine.reports_late && is_held_back(at, frame) {
            continue;
        }
        let end = log.rows.partition_point(|(row, _)| *row <= at);
        let rows = log.rows[next..end].to_vec();
        next = end;
        if let Some((last, _)) = rows.last() {
            steps.push(report(dice, at, *last, gateway, signals(machine.id, rows)));
        }
        if shift_ends.contains(&at) && frame.is_detailed(at) {
            let reading = reading(machine, &counted, at);
            let readings = ReceiveReadings {
                machine: machine.id,
                readings: vec![reading],
                clock: None,
            };
            steps.push(report(dice, at, at, gateway, readings));
        }
    }
    steps
}

/// Finished cuts, and over which time the device watched. It was unplugged for a day.
pub fn of_standalone(
    machine: MachineId,
    cuts: &[Window],
    frame: &Frame,
    gateway: Actor,
    dice: &mut Dice,
) -> Vec<Step> {
    let unplugged = frame.day(3, Weekday::Tue);
    let unplugged = Window::new(frame.wall(unplugged, 0, 0), frame.wall(later(unplugged, 1), 0, 0));
    let mut steps = Vec::new();
    let (mut next, mut watched_until) = (0, frame.begins());
    for at in reports(&frame.day_calendar, frame) {
        let end = cuts.partition_point(|cut| cut.to <= at);
        let finished = cuts[next..end].to_vec();
        // What is being cut is told with its end; until then nothing is said about that time.
        let running = cuts.get(end).filter(|cut| cut.from < at).map(|cut| cut.from);
        next = end;
        let covers = Window::new(watched_until, running.unwrap_or(at));
        watched_until = covers.to;
        if covers.is_empty() || covers.overlap(unplugged).is_some() {
            continue;
        }
        let command = ReceiveSignals {
            machine,
            rows: Vec::new(),
            cycles: finished,
            covers: Some(covers),
            clock: None,
        };
        steps.push(report(dice, at, covers.to, gateway, command));
    }
    steps
}

fn signals(machine: MachineId, rows: Vec<(Timestamp, MachineState)>) -> ReceiveSignals {
    ReceiveSignals {
        machine,
        rows,
        cycles: Vec::new(),
        covers: None,
        clock: None,
    }
}

fn report(
    dice: &mut Dice,
    at: Timestamp,
    occurred_at: Timestamp,
    gateway: Actor,
    command: impl Into<spindlebook_domain::command::Command>,
) -> Step {
    let mut step = Step::new(dice, at, gateway, command);
    step.occurred_at = occurred_at;
    step.device = Some(GATEWAY);
    step
}

/// The control counts since it was built, and in whole seconds.
fn reading(machine: &PoolMachine, log: &Log, at: Timestamp) -> Reading {
    let powered_on_s = log.seconds_until(at, |state| state != MachineState::Off);
    let in_cut_s = log.seconds_until(at, |state| state == MachineState::Active) * IN_CUT_PERCENT / 100;
    Reading {
        at,
        powered_on_s: machine.counted_before.0 + powered_on_s.unsigned_abs(),
        in_cut_s: machine.counted_before.1 + in_cut_s.unsigned_abs(),
        reset: false,
    }
}

/// Starts and ends of shifts.
fn shift_ends(calendar: &CalendarVersions, frame: &Frame) -> BTreeSet<Timestamp> {
    let shifts = shifts_in(calendar, ZONE, frame.all());
    let ends = shifts
        .iter()
        .flat_map(|shift| [shift.window.from, shift.window.to]);
    ends.filter(|at| *at <= frame.now).collect()
}

/// Midnights too, and now.
fn reports(calendar: &CalendarVersions, frame: &Frame) -> BTreeSet<Timestamp> {
    let midnights = dates(frame).skip(1).map(|date| frame.wall(date, 0, 0));
    let mut reports: BTreeSet<_> = midnights.filter(|at| *at <= frame.now).collect();
    reports.extend(shift_ends(calendar, frame));
    reports.insert(frame.now);
    reports
}

/// Three weeks ago the network was down, and what happened meanwhile is not known.
fn contact_lost(frame: &Frame) -> (Timestamp, Timestamp) {
    let (from, to) = (frame.day(3, Weekday::Wed), frame.day(3, Weekday::Thu));
    (
        frame.wall(from, 10, 20).plus_us(417 * US_PER_SECOND / 1_000),
        frame.wall(to, 7, 42),
    )
}

/// Three weeks ago a gateway kept a Monday's reports for itself until the next morning.
fn is_held_back(at: Timestamp, frame: &Frame) -> bool {
    let monday = frame.day(3, Weekday::Mon);
    Window::new(frame.wall(monday, 7, 0), frame.wall(later(monday, 1), 7, 0)).contains(at)
}
