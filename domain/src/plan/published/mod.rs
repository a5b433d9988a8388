//! Published problems as degenerate shops: the same search, asked questions whose answers are known.
//!
//! Each problem has a builder, which the search trusts, and a plainly written evaluator of its own, which judges the
//! schedule that the search ends with. A value below a proven optimum would mean that the evaluator is wrong.

pub mod forms;
pub mod job_shop;
pub mod pool;
pub mod setups;
pub mod tardiness;
#[cfg(test)]
mod tests;

use crate::plan::search::{Allowance, Found, Problem, Settings, search};
use job_shop::JobShop;
use pool::{Pool, Times};
use setups::Setups;
use tardiness::Tardiness;
use thiserror::Error;

/// A problem with its name, and the best value published for it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Named {
    pub name: String,
    pub problem: Published,
    pub published: Option<i64>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Published {
    Pool(Pool),
    Tardiness(Tardiness),
    Setups(Setups),
    JobShop(JobShop),
}

/// What the search ended with, judged by the problem's evaluator.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Solved {
    pub objective: i64,
    /// No schedule can undercut it.
    pub lower_bound: i64,
    pub iterations: u64,
    /// When the loads are touched, if it is a pool.
    pub loads: Vec<Times>,
}

#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum Unsolved {
    #[error("there is nothing to put in order")]
    Empty,
    /// The builder's schedule does not stand up to the evaluator: a fault of ours, or a problem without a schedule.
    #[error("the schedule does not hold: {0}")]
    Broken(String),
    #[error("the builder says {built}, the evaluator {judged}")]
    Disagree { built: i64, judged: i64 },
}

/// Searches and judges. `progress` is told the best value so far.
pub fn solve(
    problem: &Published,
    settings: &Settings,
    allowance: &Allowance<'_>,
    progress: &mut dyn FnMut(i64),
) -> Result<Solved, Unsolved> {
    match problem {
        Published::Pool(pool) => {
            let found = run(pool, settings, allowance, progress)?;
            let loads = pool.times(&found.sequence.order);
            let judged = pool::verify(pool, &loads).map_err(|broken| Unsolved::Broken(broken.to_string()))?;
            let solved = judge(&found, judged, pool::lower_bound(pool))?;
            Ok(Solved { loads, ..solved })
        }
        Published::Tardiness(jobs) => {
            let found = run(jobs, settings, allowance, progress)?;
            judge(&found, complete(jobs.evaluate(&found.sequence.order))?, 0)
        }
        Published::Setups(jobs) => {
            let found = run(jobs, settings, allowance, progress)?;
            judge(&found, complete(jobs.evaluate(&found.sequence.order))?, 0)
        }
        Published::JobShop(shop) => {
            let found = run(shop, settings, allowance, progress)?;
            let schedule = shop.timed(&found.sequence);
            let judged =
                job_shop::verify(shop, &schedule).map_err(|broken| Unsolved::Broken(broken.to_string()))?;
            judge(&found, judged, shop.lower_bound())
        }
    }
}

fn run<P: Problem<Cost = i64>>(
    problem: &P,
    settings: &Settings,
    allowance: &Allowance<'_>,
    progress: &mut dyn FnMut(i64),
) -> Result<Found<i64>, Unsolved> {
    search(problem, settings, allowance, &mut |now| progress(*now.best)).ok_or(Unsolved::Empty)
}

fn complete(judged: Option<i64>) -> Result<i64, Unsolved> {
    judged.ok_or_else(|| Unsolved::Broken("a job is missing, or stands in it twice".to_owned()))
}

fn judge(found: &Found<i64>, judged: i64, lower_bound: i64) -> Result<Solved, Unsolved> {
    if judged != found.cost {
        return Err(Unsolved::Disagree {
            built: found.cost,
            judged,
        });
    }
    Ok(Solved {
        objective: judged,
        lower_bound,
        iterations: found.iterations,
        loads: Vec::new(),
    })
}
