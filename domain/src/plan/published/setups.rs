//! Total weighted tardiness on one machine where getting ready depends on the job before: changes of fixtures.

use super::tardiness::{Job, Tardiness};
use crate::plan::search::{Candidate, Problem, Sequence};

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Setups {
    pub jobs: Vec<Job>,
    /// Getting ready for the first job.
    pub first: Vec<i64>,
    /// From one job (row) to the next (column), row after row.
    pub between: Vec<i64>,
}

impl Setups {
    /// The value of an order, plainly. `None` unless each job stands in it once.
    #[must_use]
    pub fn evaluate(&self, order: &[u32]) -> Option<i64> {
        let mut sorted = order.to_vec();
        sorted.sort_unstable();
        if !sorted.into_iter().eq((0..).take(self.jobs.len())) {
            return None;
        }
        let (mut now, mut total, mut before) = (0, 0, None);
        for &number in order {
            let job = self.jobs[number as usize];
            now += self.setup(before, number) + job.time;
            total += job.weight * (now - job.due).max(0);
            before = Some(number);
        }
        Some(total)
    }

    fn setup(&self, before: Option<u32>, job: u32) -> i64 {
        match before {
            Some(before) => self.between[before as usize * self.jobs.len() + job as usize],
            None => self.first[job as usize],
        }
    }
}

impl Problem for Setups {
    type Cost = i64;
    type Scratch = ();

    fn tasks(&self) -> usize {
        self.jobs.len()
    }

    fn scratch(&self) {}

    fn cost(&self, candidate: Candidate<'_>, (): &mut ()) -> Option<i64> {
        #[expect(clippy::cast_possible_truncation, reason = "far beyond any tardiness")]
        let limit = candidate.limit.min(1e18) as i64;
        let (mut now, mut total, mut before) = (0, 0, None);
        for &number in candidate.order {
            let job = &self.jobs[number as usize];
            now += self.setup(before, number) + job.time;
            total += job.weight * (now - job.due).max(0);
            if total > limit {
                return None;
            }
            before = Some(number);
        }
        Some(total)
    }

    #[expect(clippy::cast_precision_loss, reason = "tardiness stays far below 2^53")]
    fn energy(&self, cost: &i64) -> f64 {
        *cost as f64
    }

    fn starts(&self) -> Vec<Sequence> {
        let plain = Tardiness {
            jobs: self.jobs.clone(),
        };
        plain.starts()
    }

    fn is_optimal(&self, cost: &i64) -> bool {
        *cost == 0
    }
}
