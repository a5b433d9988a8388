//! What tests ask of a schedule: minutes from now on.

use super::made;
use crate::plan::model::PlanOptions;
use crate::plan::schedule::{Schedule, ScheduledLoad};
use crate::plan::tests::generated::{Bench, job};
use crate::time::{US_PER_SECOND, Window};

pub type Minutes = (i64, i64);

pub fn plan(bench: &Bench) -> Schedule {
    made(&bench.given, &PlanOptions::default(), 2_000)
}

pub fn plan_with(bench: &Bench, options: &PlanOptions) -> Schedule {
    made(&bench.given, options, 2_000)
}

/// The loads of a job in the order of their runs.
pub fn loads_of(schedule: &Schedule, number: usize) -> Vec<&ScheduledLoad> {
    let of_job = |load: &&ScheduledLoad| load.clamped.iter().any(|one| one.job == job(number));
    let mut loads: Vec<_> = schedule.loads.iter().filter(of_job).collect();
    loads.sort_by_key(|load| load.run.map(|run| run.from));
    loads
}

pub fn minutes(schedule: &Schedule, window: Option<Window>) -> Minutes {
    let window = window.unwrap();
    let minutes = |at: crate::time::Timestamp| at.since_us(schedule.from) / (60 * US_PER_SECOND);
    (minutes(window.from), minutes(window.to))
}

pub fn runs_of(schedule: &Schedule, number: usize) -> Vec<Minutes> {
    let loads = loads_of(schedule, number);
    loads.iter().map(|load| minutes(schedule, load.run)).collect()
}

/// When the job's line is complete.
pub fn complete(schedule: &Schedule, number: usize) -> i64 {
    let line = schedule
        .lines
        .iter()
        .find(|line| line.order == crate::plan::tests::generated::order(number))
        .unwrap();
    let at = line.complete.unwrap();
    at.since_us(schedule.from) / (60 * US_PER_SECOND)
}
