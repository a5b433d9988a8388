//! A pallet pool in its reduced form: some pallets, kinds of fixtures, one spindle, one person on shifts.
//!
//! The person clamps a load (`setup`), the spindle cuts it, the person unloads it. Clamping and unloading lie within one
//! attended window; the spindle goes on by night. From the start of clamping to the end of unloading the load takes a
//! pallet and one fixture of its kind. Wanted: little weighted tardiness of the ends of unloading. Times are minutes.

mod bound;
mod build;
#[cfg(test)]
mod tests;
mod verify;

pub use bound::lower_bound;
pub use build::Scratch;
pub use verify::{Broken, verify};

use crate::plan::search::{Candidate, Problem, Sequence};

pub const LOADS_MAX: usize = 10_000;
pub const KINDS_MAX: usize = 64;

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Load {
    /// As the problem numbers it.
    pub id: i64,
    pub kind: usize,
    pub setup: i64,
    pub cut: i64,
    pub unload: i64,
    pub weight: i64,
    pub release: i64,
    pub due: i64,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pool {
    pub loads: Vec<Load>,
    pub pallets: usize,
    /// Copies of each kind of fixture.
    pub copies: Vec<usize>,
    /// In order, apart from each other: from, to.
    pub attended: Vec<(i64, i64)>,
    pub start: i64,
}

/// When a load is touched.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Times {
    pub setup_start: i64,
    pub cut_start: i64,
    pub unload_start: i64,
}

impl Pool {
    /// The schedule of an order, by the number of the load.
    #[must_use]
    pub fn times(&self, order: &[u32]) -> Vec<Times> {
        Scratch::new(self).times(self, order)
    }
}

impl Problem for Pool {
    type Cost = i64;
    type Scratch = Scratch;

    fn tasks(&self) -> usize {
        self.loads.len()
    }

    fn scratch(&self) -> Scratch {
        Scratch::new(self)
    }

    fn cost(&self, candidate: Candidate<'_>, scratch: &mut Scratch) -> Option<i64> {
        scratch.cost(self, candidate.order, candidate.limit)
    }

    #[expect(clippy::cast_precision_loss, reason = "tardiness stays far below 2^53")]
    fn energy(&self, cost: &i64) -> f64 {
        *cost as f64
    }

    /// By due date, and by weight for each minute of cutting.
    fn starts(&self) -> Vec<Sequence> {
        let mut by_due: Vec<u32> = (0..).take(self.loads.len()).collect();
        let mut by_weight = by_due.clone();
        by_due.sort_by_key(|&load| self.loads[load as usize].due);
        by_weight.sort_by(|&one, &other| {
            let (one, other) = (&self.loads[one as usize], &self.loads[other as usize]);
            (other.weight * one.cut).cmp(&(one.weight * other.cut))
        });
        vec![Sequence::of_order(by_due), Sequence::of_order(by_weight)]
    }

    fn is_optimal(&self, cost: &i64) -> bool {
        *cost == 0
    }
}
