//! Pieces are conserved: a load takes only what has come to its operation, and every piece that is wanted is in one load or
//! left out with a reason.

use super::case::{Case, named};
use crate::calendar::staffed;
use crate::floor::pieces::{machined, open_jobs};
use crate::ids::{CellId, JobId};
use crate::job::{Job, due_of};
use crate::local_time::{local_date, next_day, start_of_day};
use crate::order::line_of;
use crate::part::{Lead, Manual, Work};
use crate::plan::model::LoadKey;
use crate::time::{Timestamp, US_PER_SECOND, Window};
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// Pieces that come at an instant, from a cell or from outside.
pub(super) type Coming = (Timestamp, u32, Option<CellId>);

pub(super) fn check(case: &mut Case<'_>) {
    let jobs: Vec<&Job> = open_jobs(case.shop).collect();
    for job in jobs {
        let coming = coming(case, job);
        for (operation, _) in machined(job) {
            let come = coming.get(&operation).map_or(&[][..], Vec::as_slice);
            enough_have_come(case, job, operation, come);
            all_are_planned(case, job, operation);
        }
    }
}

/// What comes to each operation, and under 0 what is finished: waiting now, at the inspector, handed over, or off a load.
pub(super) fn coming(case: &Case<'_>, job: &Job) -> BTreeMap<u16, Vec<Coming>> {
    let mut coming: BTreeMap<u16, Vec<Coming>> = BTreeMap::new();
    let numbers: Vec<u16> = job.operations.iter().map(|at| at.number).collect();
    let after = |operation: u16| {
        numbers
            .iter()
            .copied()
            .find(|number| *number > operation)
            .unwrap_or(0)
    };
    for at in &job.operations {
        let from = material_from(case, job, at.number);
        let from = from.filter(|_| at.waiting() > 0);
        arrive(
            case,
            job,
            &mut coming,
            at.number,
            from.map(|from| (from, at.waiting(), None)),
        );
        let judged = at.inspection > 0;
        let judged = judged.then(|| judged_at(case, job, at.number)).flatten();
        arrive(
            case,
            job,
            &mut coming,
            after(at.number),
            judged.map(|to| (to, at.inspection, None)),
        );
        for out in at.outside.iter().filter(|out| out.still_out() > 0) {
            let due = out.due.map(|due| after_day(case, due).max(tomorrow(case)));
            arrive(
                case,
                job,
                &mut coming,
                after(at.number),
                due.map(|due| (due, out.still_out(), None)),
            );
        }
    }
    for load in &case.schedule.loads {
        for one in load.clamped.iter().filter(|one| one.job == job.id) {
            let off = load.unload.map(|unload| (unload.to, one.pieces, Some(load.cell)));
            arrive(case, job, &mut coming, after(one.operation), off);
        }
    }
    for all in coming.values_mut() {
        all.sort();
    }
    coming
}

fn arrive(
    case: &Case<'_>,
    job: &Job,
    coming: &mut BTreeMap<u16, Vec<Coming>>,
    operation: u16,
    what: Option<Coming>,
) {
    let Some((at, pieces, cell)) = what else { return };
    let routed = job
        .routing
        .operations
        .iter()
        .position(|known| known.number == operation);
    let work = routed.map(|index| &job.routing.operations[index].work);
    let Some(Work::Manual(manual)) = work else {
        coming.entry(operation).or_default().push((at, pieces, cell));
        return;
    };
    let next = routed.and_then(|index| job.routing.operations.get(index + 1));
    let next = next.map_or(0, |next| next.number);
    let back = back_at(case, *manual, at);
    arrive(case, job, coming, next, back.map(|back| (back, pieces, None)));
}

/// Of a lead in staffed time the very instant; of one in working days the end of the day.
fn back_at(case: &Case<'_>, manual: Manual, out_at: Timestamp) -> Option<Timestamp> {
    let Lead::StaffedTime { lead_s } = manual.lead else {
        let due = if case.site.calendar.is_empty() && manual.vendor.is_none() {
            let Lead::WorkingDays { lead_days } = manual.lead else {
                return None;
            };
            let days = chrono::Days::new(u64::from(lead_days));
            local_date(case.site.zone, out_at).checked_add_days(days)
        } else {
            due_of(case.shop, case.site, manual, out_at)
        };
        return due.map(|due| after_day(case, due));
    };
    if case.site.calendar.is_empty() {
        return Some(out_at.plus_s(i64::from(lead_s)));
    }
    let mut left_us = i64::from(lead_s) * US_PER_SECOND;
    if left_us == 0 {
        return Some(out_at);
    }
    let year = Window::new(out_at, out_at.plus_s(366 * 86_400));
    for window in staffed(&case.site.calendar, case.site.zone, year) {
        if window.us() >= left_us {
            return Some(window.from.plus_us(left_us));
        }
        left_us -= window.us();
    }
    None
}

/// The first operation needs its material, which is here on the day after it was expected.
fn material_from(case: &Case<'_>, job: &Job, operation: u16) -> Option<Timestamp> {
    let is_first = job.operations.first().is_some_and(|at| at.number == operation);
    match line_of(case.shop, job).filter(|line| is_first && line.waits_for_material()) {
        None => Some(case.schedule.from),
        Some(line) => {
            let expected = line.material.expected?;
            Some(after_day(case, expected).max(tomorrow(case)))
        }
    }
}

fn judged_at(case: &Case<'_>, job: &Job, operation: u16) -> Option<Timestamp> {
    let concerns = |hold: &crate::load::Hold| {
        hold.clamped
            .iter()
            .any(|one| one.job == job.id && one.operation == operation)
    };
    let judged = case.schedule.judged.iter().filter_map(|judged| {
        let hold = case.shop.holds.get(&judged.hold).filter(|hold| concerns(hold))?;
        let stands = case
            .shop
            .pallets
            .get(&hold.pallet)
            .and_then(|pallet| pallet.load.as_ref());
        stands
            .is_none_or(|load| load.id != hold.load)
            .then_some(judged.inspection.to)
    });
    // Without a hold the inspector takes them when what is held has been judged; then nothing is earlier than now.
    judged.min().or(Some(case.schedule.from))
}

fn after_day(case: &Case<'_>, date: NaiveDate) -> Timestamp {
    start_of_day(case.site.zone, next_day(date))
}

fn tomorrow(case: &Case<'_>) -> Timestamp {
    after_day(case, local_date(case.site.zone, case.schedule.from))
}

fn enough_have_come(case: &mut Case<'_>, job: &Job, operation: u16, coming: &[Coming]) {
    let mut taken: Vec<(Timestamp, u32, CellId)> = Vec::new();
    for load in &case.schedule.loads {
        let LoadKey::ToForm { rework: false, .. } = load.key else {
            continue;
        };
        for one in &load.clamped {
            if (one.job, one.operation) == (job.id, operation) {
                let at = load.load.map_or(case.schedule.from, |load| load.from);
                taken.push((at, one.pieces, load.cell));
            }
        }
    }
    taken.sort();
    let mut sum = 0;
    for (at, pieces, cell) in taken {
        sum += pieces;
        let move_s = |from: &Option<CellId>| match from {
            Some(from) if *from != cell => case.options.move_between_cells_s,
            _ => 0,
        };
        let have_come: u32 = coming
            .iter()
            .filter(|(come_at, _, from)| come_at.plus_s(move_s(from)) <= at)
            .map(|(_, pieces, _)| pieces)
            .sum();
        case.unless(sum <= have_come, "pieces-have-come", || {
            format!(
                "{sum} pieces of {} at {operation} are clamped by {at}, {have_come} have come",
                job.id
            )
        });
    }
}

fn all_are_planned(case: &mut Case<'_>, job: &Job, operation: u16) {
    let of = |key: &LoadKey, id: JobId| matches!(key, LoadKey::ToForm { job, operation: number, .. } if *job == id && *number == operation);
    let planned = case.schedule.loads.iter().map(|load| (load.key, &load.clamped));
    let left_out = case
        .schedule
        .left_out
        .iter()
        .map(|load| (load.key, &load.clamped));
    let mut keys: Vec<LoadKey> = Vec::new();
    let mut pieces = [0_u32; 2];
    for (key, clamped) in planned.chain(left_out).filter(|(key, _)| of(key, job.id)) {
        case.unless(!keys.contains(&key), "each-load-once", || named(key));
        keys.push(key);
        for one in clamped {
            pieces[usize::from(one.rework)] += one.pieces;
        }
    }
    let Some(at) = job.at(operation) else { return };
    let wanted = job.pieces_to_run(operation).saturating_sub(at.clamped);
    case.unless(
        pieces[0] + pieces[1] == wanted && pieces[1] <= at.rework,
        "pieces-conserved",
        || {
            format!(
                "{pieces:?} pieces of {} at {operation} are planned or left out, {wanted} are wanted",
                job.id
            )
        },
    );
}
