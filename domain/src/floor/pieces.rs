//! What a load takes from its jobs and gives back to them.

use super::act::{Telling, unless_overridden};
use super::{Count, LoadRefusal, OpeningJob, OverridableRule, Override};
use crate::ids::{JobId, Seq};
use crate::job::{Counts, Job};
use crate::load::Clamped;
use crate::order::{self, Line, line_of};
use crate::part::{Machining, Work};
use crate::refusal::Refusal;
use crate::shop::Shop;

pub fn open_job(shop: &Shop, job: JobId) -> Option<&Job> {
    shop.jobs.get(&job).filter(|job| job.is_open())
}

pub fn open_jobs(shop: &Shop) -> impl Iterator<Item = &Job> {
    shop.jobs.values().filter(|job| job.is_open())
}

/// What people call a job: the order's code and the line, and which lot where there are several.
pub fn job_name(shop: &Shop, job: JobId) -> String {
    let named = shop.jobs.get(&job).and_then(|job| {
        let order = shop.orders.get(&job.order)?;
        Some(order::job_name(order, job))
    });
    named.unwrap_or_else(|| job.to_string())
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
    job.at(operation).map_or(0, |at| at.available(rework))
}

/// When the material is expected that an operation needs and has not got. Later operations have it in their pieces.
pub fn material_missing(shop: &Shop, job: &Job, operation: u16) -> Option<String> {
    let is_first = job.operations.first().is_some_and(|at| at.number == operation);
    let line = line_of(shop, job).filter(|line| is_first && line.waits_for_material())?;
    Some(expected(line))
}

fn expected(line: &Line) -> String {
    let date = line.material.expected;
    date.map_or_else(|| "nobody knows when".to_owned(), |date| date.to_string())
}

pub fn has_material(
    shop: &Shop,
    one: &Clamped,
    index: usize,
    overrides: &[Override],
    used: &mut Vec<Override>,
    telling: &Telling,
) -> Result<(), Refusal> {
    let job = open_job(shop, one.job).filter(|_| !one.rework);
    let Some(expected) = job.and_then(|job| material_missing(shop, job, one.operation)) else {
        return Ok(());
    };
    let refusal = LoadRefusal::MaterialNotArrived {
        index,
        job: one.job,
        expected,
    };
    unless_overridden(
        OverridableRule::MaterialNotArrived,
        overrides,
        used,
        telling,
        refusal,
    )
}

pub fn clamp(shop: &mut Shop, one: &Clamped, seq: Seq) {
    shop.jobs.update(&one.job, |job| {
        job.clamp(one.operation, one.pieces, one.rework);
        job.changed_seq = seq;
    });
}

/// `returned`: of those to inspection, so many were decided to be given back.
pub fn count(shop: &mut Shop, count: &Count, returned: u32, seq: Seq) {
    shop.jobs.update(&count.job, |job| {
        job.changed_seq = seq;
        job.unclamp(count.operation, count.uncut, count.rework);
        let counts = Counts {
            good: count.good,
            scrapped: count.scrapped,
            rework: count.to_rework,
            inspection: count.to_inspection.saturating_sub(returned),
            returned: returned.min(count.to_inspection),
        };
        job.count(count.operation, counts);
    });
}

/// In the order of the routing.
pub fn operations(job: &Job) -> impl Iterator<Item = u16> {
    job.operations.iter().map(|at| at.number)
}

/// How many pieces its first operation gets.
pub const fn entered_first(job: &Job) -> u32 {
    job.released
}

/// Pieces of it have been clamped or counted.
pub fn has_begun(job: &Job) -> bool {
    job.is_started()
}

/// What had become of its pieces before the book was opened; the rest waits where the one before gave it.
pub fn open(shop: &mut Shop, told: &OpeningJob, seq: Seq) {
    shop.jobs.update(&told.job, |job| {
        job.changed_seq = seq;
        let numbers: Vec<_> = operations(job).collect();
        for number in numbers {
            let Some(count) = told.operations.iter().find(|count| count.operation == number) else {
                continue;
            };
            let counts = Counts {
                good: count.good,
                scrapped: count.scrapped,
                rework: count.to_rework,
                inspection: count.to_inspection,
                returned: 0,
            };
            job.told(number, counts);
        }
    });
}
