//! One run at a time, an exchange between two, as long as the routing says, where the operation runs, and with somebody
//! there where it is not cleared.

use super::case::{Case, named};
use crate::floor::work;
use crate::load::Stage;
use crate::machine::Condition;
use crate::pallet::Position;
use crate::plan::schedule::ScheduledLoad;
use crate::time::{US_PER_SECOND, Window};

pub(super) fn check(case: &mut Case<'_>) {
    for loads in case.by_machine().values() {
        for pair in loads.windows(2) {
            follows(case, pair[0], pair[1]);
        }
        if let Some(first) = loads.first() {
            first_one(case, first);
        }
        for load in loads {
            one(case, load);
        }
        let frozen = loads.iter().rposition(|load| load.is_frozen);
        let free = loads.iter().position(|load| !load.is_frozen);
        if let (Some(frozen), Some(free)) = (frozen, free) {
            case.unless(frozen < free, "frozen-head", || {
                format!("{} comes before what is frozen", named(loads[free].key))
            });
        }
    }
}

fn follows(case: &mut Case<'_>, earlier: &ScheduledLoad, later: &ScheduledLoad) {
    let (Some(before), Some(run)) = (earlier.run, later.run) else {
        return;
    };
    let free_at = before.to.plus_s(case.exchange_s(later.cell));
    case.unless(run.from >= free_at, "one-run-at-a-time", || {
        format!(
            "{} starts at {}, the spindle is free at {free_at}",
            named(later.key),
            run.from
        )
    });
}

/// What is not in the spindle yet has to be brought there.
fn first_one(case: &mut Case<'_>, load: &ScheduledLoad) {
    let (Some(machine), Some(run)) = (load.machine, load.run) else {
        return;
    };
    let stands = case.shop.pallets.get(&load.pallet).map(|pallet| pallet.position);
    if stands == Some(Position::Spindle { machine }) && load.load.is_none() {
        return;
    }
    let earliest = case.schedule.from.plus_s(case.exchange_s(load.cell));
    case.unless(run.from >= earliest, "exchange", || {
        format!("{} starts at {} without an exchange", named(load.key), run.from)
    });
}

fn one(case: &mut Case<'_>, load: &ScheduledLoad) {
    let (Some(id), Some(run)) = (load.machine, load.run) else {
        return;
    };
    let Some(machine) = case.shop.machines.get(&id) else {
        return case.fault("machine-known", named(load.key));
    };
    let is_in_cell = case.shop.pallets.get(&load.pallet).map(|pallet| pallet.cell) == Some(machine.cell);
    case.unless(is_in_cell && machine.cell == load.cell, "same-cell", || {
        named(load.key)
    });
    if case.is_running(load) {
        return in_progress(case, load, run);
    }
    case.unless(run.from >= case.schedule.from, "not-in-the-past", || {
        named(load.key)
    });
    let is_down = matches!(machine.condition, Condition::Down { .. });
    case.unless(!is_down, "machine-down", || {
        format!("{} on {}", named(load.key), machine.code)
    });
    let not_on = work::not_on(case.shop, &load.clamped, load.cell, id);
    case.unless(not_on.is_none(), "runs-there", || {
        format!("{} on {}", named(load.key), machine.code)
    });
    let cycle_s = work::cycle_s(case.shop, &load.clamped, load.cell);
    let as_long = i64::try_from(cycle_s).is_ok_and(|cycle_s| run.us() == cycle_s * US_PER_SECOND);
    case.unless(as_long, "cycle", || {
        format!("{} takes {cycle_s} s, not {} us", named(load.key), run.us())
    });
    attended(case, load, run);
}

fn in_progress(case: &mut Case<'_>, load: &ScheduledLoad, run: Window) {
    let Some(Stage::InRun { run: id }) = case.stage(load.key) else {
        return;
    };
    let Some(known) = case.shop.runs.get(&id) else {
        return;
    };
    let ends_at = known.ends_at(case.now);
    let late_us = run.to.since_us(ends_at);
    let goes_on = load.machine == Some(known.machine) && (0..=2 * US_PER_SECOND).contains(&late_us);
    case.unless(goes_on, "run-in-progress", || {
        format!("{} ends at {ends_at}, not at {}", named(load.key), run.to)
    });
}

/// Nobody there: only what is cleared on this machine, and whose first piece has been accepted.
fn attended(case: &mut Case<'_>, load: &ScheduledLoad, run: Window) {
    let Some(machine) = load.machine else { return };
    let not_cleared = work::not_cleared(case.shop, &load.clamped, load.cell, machine);
    let was_aborted = matches!(case.stage(load.key), Some(Stage::Aborted { .. }));
    let may_run_alone = not_cleared.is_none() && load.held_as.is_none() && !was_aborted;
    case.unless(
        may_run_alone || case.is_attended(load.cell, run),
        "attended",
        || {
            format!(
                "{} runs from {} to {} with nobody there",
                named(load.key),
                run.from,
                run.to
            )
        },
    );
    let start = Window::new(run.from, run.from.plus_us(1));
    let needs_start = case.is_standalone(load.cell);
    case.unless(
        !needs_start || case.is_attended(load.cell, start),
        "started-by-hand",
        || format!("{} starts at {} with nobody there", named(load.key), run.from),
    );
}
