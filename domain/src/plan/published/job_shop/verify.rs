//! Judges any schedule of a job shop, whoever made it. Written from the problem's text, without a line of the builder's.

use super::JobShop;
use thiserror::Error;

/// Where and when an operation is done.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Timed {
    pub machine: usize,
    pub start: i64,
    pub end: i64,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
pub enum Broken {
    #[error("the schedule has {0} operations, the shop has {1}")]
    Count(usize, usize),
    #[error("operation {0} is done where or for as long as it cannot be")]
    Way(usize),
    #[error("operation {0} begins before the one before it has ended")]
    Precedence(usize),
    #[error("machine {0} does two things at once at {1}")]
    Machine(usize, i64),
}

/// The last end of a schedule that keeps every rule.
pub fn verify(shop: &JobShop, schedule: &[Timed]) -> Result<i64, Broken> {
    if schedule.len() != shop.ways.len() {
        return Err(Broken::Count(schedule.len(), shop.ways.len()));
    }
    for (operation, timed) in schedule.iter().enumerate() {
        let mut ways = shop.ways[operation].iter();
        let is_way = ways.any(|way| way.machine == timed.machine && timed.start + way.time == timed.end);
        if !is_way || timed.start < 0 {
            return Err(Broken::Way(operation));
        }
        let is_first = operation == 0 || shop.job_of[operation] != shop.job_of[operation - 1];
        if !is_first && schedule[operation - 1].end > timed.start {
            return Err(Broken::Precedence(operation));
        }
    }
    for machine in 0..shop.machines {
        let here = schedule.iter().filter(|timed| timed.machine == machine);
        let mut work: Vec<(i64, i64)> = here.map(|timed| (timed.start, timed.end)).collect();
        work.sort_unstable();
        if let Some(pair) = work.windows(2).find(|pair| pair[0].1 > pair[1].0) {
            return Err(Broken::Machine(machine, pair[1].0));
        }
    }
    Ok(schedule.iter().map(|timed| timed.end).max().unwrap_or(0))
}
