//! What a load takes from its jobs and gives back to them.

use super::{Count, OpeningJob};
use crate::ids::JobId;
use crate::job::{Counts, Job};
use crate::load::Clamped;
use crate::part::{Machining, Work};
use crate::shop::Shop;

pub fn open_job(shop: &Shop, job: JobId) -> Option<&Job> {
    shop.jobs.get(&job).filter(|job| job.is_open())
}

pub fn open_jobs(shop: &Shop) -> impl Iterator<Item = &Job> {
    shop.jobs.values().filter(|job| job.is_open())
}

/// What people call a job: the part with its revision, and the line of the order.
pub fn job_name(shop: &Shop, job: JobId) -> String {
    let named = shop.jobs.get(&job).and_then(|job| {
        let part = shop.parts.get(&job.part)?;
        Some(format!("{} {}/{}", part.code, job.revision, job.line))
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

pub fn clamp(shop: &mut Shop, one: &Clamped) {
    shop.jobs.update(&one.job, |job| {
        job.clamp(one.operation, one.pieces, one.rework);
    });
}

pub fn count(shop: &mut Shop, count: &Count) {
    shop.jobs.update(&count.job, |job| {
        job.unclamp(count.operation, count.uncut, count.rework);
        let counts = Counts {
            good: count.good,
            scrapped: count.scrapped,
            rework: count.to_rework,
            inspection: count.to_inspection,
            returned: 0,
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
pub fn open(shop: &mut Shop, told: &OpeningJob) {
    shop.jobs.update(&told.job, |job| {
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
            job.clamp(number, u32::try_from(counts.total()).unwrap_or(u32::MAX), false);
            job.count(number, counts);
        }
    });
}
