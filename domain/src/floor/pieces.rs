//! What a load takes from its jobs and gives back to them.

use super::act::unless_overridden;
use super::{Count, LoadRefusal, OpeningJob, OverridableRule, Override};
use crate::ids::JobId;
use crate::job::Job;
use crate::load::Clamped;
use crate::part::{Machining, Work};
use crate::refusal::Refusal;
use crate::shop::Shop;

pub fn open_job(shop: &Shop, job: JobId) -> Option<&Job> {
    shop.jobs.get(&job)
}

pub fn open_jobs(shop: &Shop) -> impl Iterator<Item = &Job> {
    shop.jobs.values()
}

/// What people call a job.
pub fn job_name(shop: &Shop, job: JobId) -> String {
    shop.jobs
        .get(&job)
        .map_or_else(|| job.to_string(), |job| job.code.to_string())
}

/// The operations of a job that are machined.
pub fn machined(job: &Job) -> impl Iterator<Item = (u16, &Machining)> {
    job.routing
        .operations
        .iter()
        .filter_map(|operation| match &operation.work {
            Work::Machining(machining) => Some((operation.number, machining)),
            Work::Manual(_) => None,
        })
}

/// How many pieces can be clamped.
pub fn waiting(job: &Job, operation: u16, rework: bool) -> u32 {
    let at = job.operations.iter().find(|at| at.number == operation);
    at.map_or(0, |at| if rework { at.rework } else { at.waiting })
}

/// When the material is expected that an operation needs and has not got. Later operations have it in their pieces.
pub fn material_missing(job: &Job, operation: u16) -> Option<String> {
    let is_first = job.operations.first().is_some_and(|at| at.number == operation);
    (is_first && !job.material_arrived).then(|| "not known".to_owned())
}

pub fn has_material(
    job: &Job,
    one: &Clamped,
    index: usize,
    overrides: &[Override],
    used: &mut Vec<Override>,
) -> Result<(), Refusal> {
    let missing = material_missing(job, one.operation).filter(|_| !one.rework);
    let Some(expected) = missing else {
        return Ok(());
    };
    let refusal = LoadRefusal::MaterialNotArrived {
        index,
        job: job.id,
        expected,
    };
    unless_overridden(OverridableRule::MaterialNotArrived, overrides, used, refusal)
}

pub fn clamp(shop: &mut Shop, one: &Clamped) {
    shop.jobs.update(&one.job, |job| {
        if let Some(at) = job.operations.iter_mut().find(|at| at.number == one.operation) {
            if one.rework {
                at.rework -= one.pieces;
                at.rework_clamped += one.pieces;
            } else {
                at.waiting -= one.pieces;
                at.clamped += one.pieces;
            }
        }
    });
}

pub fn count(shop: &mut Shop, count: &Count) {
    shop.jobs.update(&count.job, |job| {
        let Some(index) = job.operations.iter().position(|at| at.number == count.operation) else {
            return;
        };
        let at = &mut job.operations[index];
        let total = u32::try_from(count.total()).unwrap_or(u32::MAX);
        if count.rework {
            at.rework_clamped -= total;
            at.rework += count.uncut + count.to_rework;
        } else {
            at.clamped -= total;
            at.waiting += count.uncut;
            at.rework += count.to_rework;
        }
        at.good += count.good;
        at.scrapped += count.scrapped;
        at.inspection += count.to_inspection;
        if let Some(next) = job.operations.get_mut(index + 1) {
            next.waiting += count.good;
        }
    });
}

/// In the order of the routing.
pub fn operations(job: &Job) -> impl Iterator<Item = u16> {
    job.operations.iter().map(|at| at.number)
}

/// How many pieces its first operation gets.
pub fn entered_first(job: &Job) -> u32 {
    job.operations.first().map_or(0, |at| {
        at.waiting + at.clamped + at.rework_clamped + at.inspection + at.good + at.scrapped + at.rework
    })
}

/// Pieces of it have been clamped or counted.
pub fn has_begun(job: &Job) -> bool {
    let first = job.operations.first();
    first.is_some_and(|at| at.waiting != entered_first(job))
}

/// What had become of its pieces before the book was opened; the rest waits where the one before gave it.
pub fn open(shop: &mut Shop, told: &OpeningJob) {
    shop.jobs.update(&told.job, |job| {
        let mut entered = entered_first(job);
        for at in &mut job.operations {
            let count = told.operations.iter().find(|count| count.operation == at.number);
            let total = count.map_or(0, |count| u32::try_from(count.total()).unwrap_or(u32::MAX));
            at.waiting = entered.saturating_sub(total);
            if let Some(count) = count {
                at.good = count.good;
                at.scrapped = count.scrapped;
                at.rework = count.to_rework;
                at.inspection = count.to_inspection;
            }
            entered = at.good;
        }
    });
}
