//! Total weighted tardiness on one machine: a standalone spindle whose jobs are all there, none needing another fixture.

mod descent;
mod rules;
#[cfg(test)]
mod tests;

use crate::plan::search::{Candidate, Dice, Effort, Problem, Sequence};

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Job {
    pub time: i64,
    pub weight: i64,
    pub due: i64,
}

impl Job {
    fn tardiness(&self, end: i64) -> i64 {
        self.weight * (end - self.due).max(0)
    }
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tardiness {
    pub jobs: Vec<Job>,
}

impl Tardiness {
    /// The value of an order, plainly: each job begins when the one before ends. `None` unless each job stands in it once.
    #[must_use]
    pub fn evaluate(&self, order: &[u32]) -> Option<i64> {
        let mut sorted = order.to_vec();
        sorted.sort_unstable();
        let is_whole = sorted.into_iter().eq((0..).take(self.jobs.len()));
        is_whole.then(|| self.total(order))
    }

    fn total(&self, order: &[u32]) -> i64 {
        let (mut now, mut total) = (0, 0);
        for &number in order {
            let job = self.jobs[number as usize];
            now += job.time;
            total += job.tardiness(now);
        }
        total
    }
}

impl Problem for Tardiness {
    type Cost = i64;
    type Scratch = Vec<i64>;

    fn tasks(&self) -> usize {
        self.jobs.len()
    }

    fn scratch(&self) -> Vec<i64> {
        Vec::new()
    }

    fn cost(&self, candidate: Candidate<'_>, _: &mut Vec<i64>) -> Option<i64> {
        Some(self.total(candidate.order))
    }

    #[expect(clippy::cast_precision_loss, reason = "tardiness stays far below 2^53")]
    fn energy(&self, cost: &i64) -> f64 {
        *cost as f64
    }

    fn starts(&self) -> Vec<Sequence> {
        vec![
            Sequence::of_order(self.by_due_date()),
            Sequence::of_order(self.by_weight_for_time()),
            Sequence::of_order(self.by_apparent_cost()),
        ]
    }

    fn descend(
        &self,
        sequence: &mut Sequence,
        ends: &mut Vec<i64>,
        dice: &mut Dice,
        effort: &mut Effort<'_>,
    ) -> Option<i64> {
        descent::descend(self, &mut sequence.order, ends, dice, effort);
        Some(self.total(&sequence.order))
    }

    fn is_optimal(&self, cost: &i64) -> bool {
        *cost == 0
    }
}
