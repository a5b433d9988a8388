//! Job shops and flexible job shops: each job's operations one after the other, each on one of its machines, no machine
//! on two at once. Wanted: the last end as early as can be. (Spindles with every pallet and person in plenty.)
//!
//! Method: annealing over moves on critical blocks (van Laarhoven, Aarts & Lenstra, Operations Research 40, 1992;
//! the moves are those of Nowicki & Smutnicki, Management Science 42, 1996, and of Balas & Vazacopoulos, Management
//! Science 44, 1998), with operations taken to other machines where they have a choice.

mod build;
mod critical;
#[cfg(test)]
mod tests;
mod verify;

pub use build::Scratch;
pub use verify::{Broken, Timed, verify};

use crate::plan::search::{Candidate, Cooling, Dice, Problem, Sequence};

pub const OPERATIONS_MAX: usize = 10_000;
pub const MACHINES_MAX: usize = 1_000;

/// One way to do an operation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Way {
    pub machine: usize,
    pub time: i64,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct JobShop {
    machines: usize,
    /// The ways of each operation, job after job.
    ways: Vec<Vec<Way>>,
    job_of: Vec<u32>,
    /// The first operation of each job, and one behind the last.
    first_of: Vec<u32>,
    /// The operations that have a choice.
    choosable: Vec<u32>,
    /// No schedule can end before.
    bound: i64,
}

impl JobShop {
    /// From the ways of each operation of each job.
    #[must_use]
    pub fn new(machines: usize, jobs: &[Vec<Vec<Way>>]) -> Self {
        let ways: Vec<Vec<Way>> = jobs.concat();
        let (mut job_of, mut first_of) = (Vec::new(), vec![0]);
        for (number, job) in (0..).zip(jobs) {
            job_of.extend(job.iter().map(|_| number));
            first_of.push((0..).nth(job_of.len()).unwrap_or(0));
        }
        let numbered = (0..).zip(&ways);
        let choosable = numbered
            .filter(|(_, ways)| ways.len() > 1)
            .map(|(operation, _)| operation);
        let choosable: Vec<u32> = choosable.collect();
        let bound = bound(machines, jobs);
        Self {
            machines,
            ways,
            job_of,
            first_of,
            choosable,
            bound,
        }
    }

    /// What no schedule can undercut: the longest job, the fullest machine, all work over all machines.
    #[must_use]
    pub fn lower_bound(&self) -> i64 {
        self.bound
    }

    /// The schedule of a sequence, by operation.
    #[must_use]
    pub fn timed(&self, sequence: &Sequence) -> Vec<Timed> {
        Scratch::new(self).timed(self, &sequence.order, &sequence.choice)
    }

    fn operations(&self) -> usize {
        self.ways.len()
    }

    fn way(&self, operation: u32, choice: u16) -> Way {
        self.ways[operation as usize][usize::from(choice)]
    }

    /// The operation before it in its job.
    fn before(&self, operation: u32) -> Option<u32> {
        let job = self.job_of[operation as usize];
        (self.first_of[job as usize] < operation).then(|| operation - 1)
    }

    /// The operation behind it in its job.
    fn behind(&self, operation: u32) -> Option<u32> {
        let job = self.job_of[operation as usize];
        (operation + 1 < self.first_of[job as usize + 1]).then_some(operation + 1)
    }
}

fn bound(machines: usize, jobs: &[Vec<Vec<Way>>]) -> i64 {
    let shortest = |ways: &Vec<Way>| ways.iter().map(|way| way.time).min().unwrap_or(0);
    let longest_job = jobs.iter().map(|job| job.iter().map(shortest).sum::<i64>()).max();
    let mut bound = longest_job.unwrap_or(0);
    let operations = || jobs.iter().flatten();
    for machine in 0..machines {
        let only_here = operations().filter(|ways| ways.iter().all(|way| way.machine == machine));
        bound = bound.max(only_here.map(shortest).sum());
    }
    let all: i64 = operations().map(shortest).sum();
    let machines = i64::try_from(machines.max(1)).unwrap_or(i64::MAX);
    bound.max((all + machines - 1) / machines)
}

impl Problem for JobShop {
    type Cost = i64;
    type Scratch = Scratch;

    fn tasks(&self) -> usize {
        self.operations()
    }

    fn choices(&self, operation: usize) -> usize {
        self.ways[operation].len()
    }

    fn scratch(&self) -> Scratch {
        Scratch::new(self)
    }

    fn cost(&self, candidate: Candidate<'_>, scratch: &mut Scratch) -> Option<i64> {
        scratch.cost(self, candidate)
    }

    #[expect(clippy::cast_precision_loss, reason = "times stay far below 2^53")]
    fn energy(&self, cost: &i64) -> f64 {
        *cost as f64
    }

    fn keep(&self, scratch: &mut Scratch) {
        scratch.keep(self);
    }

    /// The job with most work left goes first; each operation on its fastest machine, or on the one soonest done with it.
    fn starts(&self) -> Vec<Sequence> {
        vec![
            build::most_work_left(self, false),
            build::most_work_left(self, true),
        ]
    }

    fn own_moves_per_mille(&self) -> u32 {
        1_000
    }

    fn own_move(&self, sequence: &mut Sequence, scratch: &mut Scratch, dice: &mut Dice) -> Option<usize> {
        critical::own_move(self, sequence, scratch, dice)
    }

    /// Makespans are whole numbers of a narrow range: far below the first temperature nothing moves any more. Going to
    /// another machine changes more than a swap does, so the median rise is larger where there is a choice.
    fn cooling(&self) -> Cooling {
        let (hot_of_median, cold_of_hot, cycles) = if self.choosable.is_empty() {
            (1.5, 0.1, 4)
        } else {
            (0.4, 0.05, 1)
        };
        Cooling {
            hot_of_median,
            cold_of_hot,
            cycles,
        }
    }

    fn is_optimal(&self, cost: &i64) -> bool {
        *cost <= self.bound
    }
}
