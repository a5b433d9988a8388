//! What the schedule says of lines, spindle time and changes is what it comes to.

use super::case::Case;
use super::pieces::coming;
use crate::floor::pieces::open_jobs;
use crate::order::line_of;
use crate::plan::model::{Aim, WEIGHTS};
use crate::time::{Timestamp, US_PER_SECOND, Window};
use std::collections::BTreeMap;

pub(super) fn check(case: &mut Case<'_>) {
    let complete = complete(case);
    let mut tardiness = 0;
    let mut all_complete = true;
    for line in &case.schedule.lines {
        let known = complete.get(&(line.order, line.line)).copied().flatten();
        let expected = known.filter(|_| line.pieces_short == 0);
        case.unless(line.complete == expected, "complete-then", || {
            format!(
                "line {} is complete at {expected:?}, not at {:?}",
                line.line, line.complete
            )
        });
        let weight = case
            .shop
            .orders
            .get(&line.order)
            .and_then(|order| order.line(line.line));
        let weight = weight.and_then(|line| WEIGHTS.iter().find(|(known, _)| *known == line.priority));
        case.unless(
            weight.map(|(_, weight)| *weight) == Some(line.weight),
            "weight",
            || format!("line {}", line.line),
        );
        all_complete &= line.complete.is_some();
        let late_us = line
            .complete
            .zip(line.due)
            .map_or(0, |(complete, due)| complete.since_us(due));
        tardiness += late_us.max(0) / US_PER_SECOND * line.weight;
    }
    let aim = case.options.aim;
    if all_complete {
        let told = case.schedule.cost.tardiness(aim);
        case.unless(told == tardiness, "tardiness", || {
            format!("{tardiness}, not {told}")
        });
    }
    spindle_time(case, aim);
    let mounts = case
        .schedule
        .loads
        .iter()
        .filter(|load| load.mount.is_some())
        .count();
    let changes = case.schedule.cost.changes as usize;
    case.unless(changes == mounts, "changes", || {
        format!("{mounts}, not {changes}")
    });
}

fn spindle_time(case: &mut Case<'_>, aim: Aim) {
    let from = case.schedule.from;
    let counted = match aim {
        Aim::Due => Window::new(from, case.schedule.until),
        Aim::Night { from: first, to } => Window::new(from.plus_s(first), from.plus_s(to)),
    };
    let runs = case
        .schedule
        .loads
        .iter()
        .filter_map(|load| load.run?.overlap(counted));
    let cut_s: i64 = runs.map(|run| run.us() / US_PER_SECOND).sum();
    let machines = i64::try_from(case.shop.machines.len()).unwrap_or(i64::MAX);
    let idle_s = counted.us() / US_PER_SECOND * machines - cut_s;
    let told = case.schedule.cost.idle_s(aim);
    case.unless(told == idle_s, "spindle-time", || {
        format!("{idle_s} s idle, not {told}")
    });
}

/// When the last wanted piece of each line is there.
fn complete(case: &Case<'_>) -> BTreeMap<(crate::ids::OrderId, u32), Option<Timestamp>> {
    let mut complete = BTreeMap::new();
    for job in open_jobs(case.shop) {
        let Some(line) = line_of(case.shop, job) else {
            continue;
        };
        let mut missing = job.still_to_make();
        let mut at = Some(case.schedule.from);
        if missing > 0 {
            let finished = coming(case, job).remove(&0).unwrap_or_default();
            at = finished.into_iter().find_map(|(at, pieces, _)| {
                missing = missing.saturating_sub(pieces);
                (missing == 0).then_some(at)
            });
        }
        let known = complete.entry((job.order, line.number)).or_insert(at);
        *known = known.zip(at).map(|(known, at)| known.max(at));
    }
    complete
}
