//! The search under every plan: it changes an order of tasks and a choice for each, a builder makes a schedule of that,
//! and the schedule's cost says whether the change stays.
//!
//! A [`Problem`] is all that the search knows. It has no clock: how much of the allowance is spent comes from the
//! caller. With a limit of iterations alone, the result depends on the problem, the seed and the settings only: a fixed
//! number of chains, each with its own dice, meet after fixed numbers of iterations, whatever the number of workers.
//!
//! Method: simulated annealing (Kirkpatrick, Gelatt & Vecchi, Science 220, 1983) with the moves insert, swap and block,
//! in cycles that begin again from the best of all; or, where the problem brings its own descent, iterated local search
//! (Lourenço, Martin & Stützle, in Handbook of Metaheuristics, 2003) around it.

mod annealing;
mod chain;
mod dice;
mod effort;
mod moves;
#[cfg(test)]
mod tests;

pub use annealing::Cooling;
pub use dice::Dice;
pub use effort::Effort;

use chain::{Chain, Leg};
use rayon::prelude::*;

/// What is to be put in order, and what a schedule made from an order costs.
pub trait Problem: Sync {
    /// Strictly ordered, the most important part first.
    type Cost: Ord + Clone + Send + Sync;
    /// What the builder writes into, so that a schedule needs no memory of its own. One for each chain.
    type Scratch: Send;

    fn tasks(&self) -> usize;

    /// In how many ways the task can be done (on which machine, which pallet): its choice is below that number.
    fn choices(&self, _task: usize) -> usize {
        1
    }

    fn scratch(&self) -> Self::Scratch;

    /// Builds the schedule of a candidate. `None` as soon as its energy is sure to be above the candidate's limit;
    /// otherwise the exact cost.
    fn cost(&self, candidate: Candidate<'_>, scratch: &mut Self::Scratch) -> Option<Self::Cost>;

    /// The cost as one number, which annealing compares: a lower cost never has a higher energy.
    fn energy(&self, cost: &Self::Cost) -> f64;

    /// The candidate last built has become the chain's current sequence: what `scratch` knows of it can be kept,
    /// and following candidates say from which place on they differ.
    fn keep(&self, _scratch: &mut Self::Scratch) {}

    /// Sequences to begin from, as dispatch rules give them. The search takes the best.
    fn starts(&self) -> Vec<Sequence> {
        vec![Sequence::in_given_order(self.tasks())]
    }

    /// Of 1,000 moves, so many are the problem's own.
    fn own_moves_per_mille(&self) -> u32 {
        0
    }

    /// Changes the sequence by knowledge of the schedule last kept, as swapping two tasks on its critical path. The first
    /// place that differs, or `None` if the sequence is as it was.
    fn own_move(
        &self,
        _sequence: &mut Sequence,
        _scratch: &mut Self::Scratch,
        _dice: &mut Dice,
    ) -> Option<usize> {
        None
    }

    /// How hot annealing begins, how cold it ends. Not asked where the problem has a descent.
    fn cooling(&self) -> Cooling {
        Cooling::default()
    }

    /// A descent of the problem's own: makes the sequence better as long as it can, and returns its cost. A problem that
    /// has one is searched by kicks and descents. `None`: it has none.
    fn descend(
        &self,
        _sequence: &mut Sequence,
        _scratch: &mut Self::Scratch,
        _dice: &mut Dice,
        _effort: &mut Effort<'_>,
    ) -> Option<Self::Cost> {
        None
    }

    /// A cost that cannot be undercut ends the search as soon as it is reached.
    fn is_optimal(&self, _cost: &Self::Cost) -> bool {
        false
    }
}

/// An order of all tasks, and the choice of each task (by task, not by place).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sequence {
    pub order: Vec<u32>,
    pub choice: Vec<u16>,
}

impl Sequence {
    #[must_use]
    pub fn in_given_order(tasks: usize) -> Self {
        Self {
            order: (0..).take(tasks).collect(),
            choice: vec![0; tasks],
        }
    }

    #[must_use]
    pub fn of_order(order: Vec<u32>) -> Self {
        let choice = vec![0; order.len()];
        Self { order, choice }
    }

    fn copy_from(&mut self, other: &Self) {
        self.order.copy_from_slice(&other.order);
        self.choice.copy_from_slice(&other.choice);
    }
}

/// What a builder is asked to build.
#[derive(Clone, Copy, Debug)]
pub struct Candidate<'a> {
    pub order: &'a [u32],
    pub choice: &'a [u16],
    /// So many first places, and the choices of the tasks there, are as in the sequence last kept; 0 if nothing was.
    pub unchanged: usize,
    /// A schedule of more energy than this is of no use.
    pub limit: f64,
}

/// When the search ends, and how far it has got.
#[derive(Clone, Copy)]
pub struct Allowance<'a> {
    /// Schedules built, over all chains together.
    pub iterations: u64,
    /// The share of the allowance that is spent, from 0; at 1 the search ends at once.
    pub spent: &'a (dyn Fn() -> f64 + Sync),
}

impl Allowance<'static> {
    /// Only these make a search repeatable.
    #[must_use]
    pub fn of_iterations(iterations: u64) -> Self {
        Self {
            iterations,
            spent: &|| 0.0,
        }
    }
}

#[derive(Clone, Copy, Debug)]
pub struct Settings {
    pub seed: u64,
    /// Threads; they change how soon the result is there, not the result of a number of iterations.
    pub workers: usize,
    /// Searches side by side, each with its own dice. They exchange the best now and then.
    pub chains: usize,
}

pub const CHAINS_MAX: usize = 64;

impl Default for Settings {
    fn default() -> Self {
        Self {
            seed: 1,
            workers: 2,
            chains: 2,
        }
    }
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found<C> {
    pub sequence: Sequence,
    pub cost: C,
    /// The best of the dispatch rules, where the search began.
    pub start_cost: C,
    pub iterations: u64,
}

/// What is told while the search goes on.
#[derive(Clone, Copy, Debug)]
pub struct Progress<'a, C> {
    pub best: &'a C,
    pub iterations: u64,
    pub share: f64,
}

/// Schedules that a chain builds before it meets the others.
const LEG_ITERATIONS: u64 = 1 << 14;

/// The best sequence that the allowance gives. `None` only if no start can be built at all.
pub fn search<P: Problem>(
    problem: &P,
    settings: &Settings,
    allowance: &Allowance<'_>,
    progress: &mut dyn FnMut(Progress<'_, P::Cost>),
) -> Option<Found<P::Cost>> {
    let chains = settings.chains.clamp(1, CHAINS_MAX) as u64;
    let starts = problem.starts();
    let threads = rayon::ThreadPoolBuilder::new()
        .num_threads(settings.workers.max(1))
        .build()
        .ok();
    let together = |work: &mut (dyn FnMut() + Send)| match &threads {
        Some(threads) => threads.install(work),
        None => work(),
    };
    let mut all: Vec<Option<Chain<P>>> = Vec::new();
    together(&mut || {
        let streams = (0..chains).into_par_iter();
        all = streams
            .map(|stream| Chain::new(problem, &starts, settings.seed, stream))
            .collect();
    });
    let mut all: Vec<Chain<P>> = all.into_iter().collect::<Option<_>>()?;
    let mut cycle = 0;
    loop {
        let iterations: u64 = all.iter().map(|chain| chain.iterations).sum();
        let best = best_of(&all)?;
        let share = (allowance.spent)().max(share_of(iterations, allowance.iterations));
        progress(Progress {
            best: &best.best_cost,
            iterations,
            share,
        });
        let left = allowance.iterations.saturating_sub(iterations) / chains;
        if left == 0 || share >= 1.0 || problem.is_optimal(&best.best_cost) {
            return Some(Found {
                sequence: best.best.clone(),
                cost: best.best_cost.clone(),
                start_cost: best.start_cost.clone(),
                iterations,
            });
        }
        let reached = cycle_at(share, problem.cooling().cycles).0;
        if reached > cycle {
            cycle = reached;
            let (sequence, cost) = (best.best.clone(), best.best_cost.clone());
            together(&mut || all.par_iter_mut().for_each(|chain| chain.adopt(&sequence, &cost)));
        }
        let leg = Leg::of(allowance, chains, left.min(LEG_ITERATIONS));
        together(&mut || all.par_iter_mut().for_each(|chain| chain.run(leg)));
    }
}

/// The first of the best, so that the order in which workers end says nothing.
fn best_of<'a, 'p, P: Problem>(chains: &'a [Chain<'p, P>]) -> Option<&'a Chain<'p, P>> {
    chains
        .iter()
        .min_by(|one, other| one.best_cost.cmp(&other.best_cost))
}

/// In which cycle a share of the allowance lies, and how far into it.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "from 0 to the number of cycles"
)]
fn cycle_at(share: f64, cycles: u32) -> (u32, f64) {
    let cycles = cycles.max(1);
    let at = share.clamp(0.0, 1.0) * f64::from(cycles);
    let cycle = (at.floor() as u32).min(cycles - 1);
    (cycle, at - f64::from(cycle))
}

#[expect(clippy::cast_precision_loss, reason = "a share needs no more than 53 bits")]
fn share_of(part: u64, whole: u64) -> f64 {
    part as f64 / whole as f64
}
