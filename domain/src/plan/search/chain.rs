//! One search among several side by side: its dice, its current sequence and the best it has seen.

use super::annealing::Heat;
use super::effort::Effort;
use super::moves::{kick, random_move};
use super::{Allowance, Candidate, Dice, Problem, Sequence, cycle_at, share_of};
use std::ops::Range;

pub struct Chain<'a, P: Problem> {
    problem: &'a P,
    dice: Dice,
    scratch: P::Scratch,
    /// Tasks with more than one choice, and how many.
    choosable: Vec<(u32, u16)>,
    current: Sequence,
    current_cost: P::Cost,
    candidate: Sequence,
    pub best: Sequence,
    pub best_cost: P::Cost,
    pub start_cost: P::Cost,
    pub iterations: u64,
    heat: Heat,
    has_descent: bool,
}

/// The part of the allowance that a chain goes through before it meets the others.
#[derive(Clone, Copy)]
pub struct Leg<'a> {
    pub iterations: u64,
    /// Of the whole allowance, this chain's part.
    pub iterations_in_all: u64,
    pub spent: &'a (dyn Fn() -> f64 + Sync),
}

impl<'a> Leg<'a> {
    pub fn of(allowance: &Allowance<'a>, chains: u64, iterations: u64) -> Self {
        Self {
            iterations,
            iterations_in_all: (allowance.iterations / chains).max(1),
            spent: allowance.spent,
        }
    }
}

impl<'a, P: Problem> Chain<'a, P> {
    /// `None` if no start can be built, which a builder without a limit never says.
    pub fn new(problem: &'a P, starts: &[Sequence], seed: u64, stream: u64) -> Option<Self> {
        let mut scratch = problem.scratch();
        let built = starts.iter().filter_map(|start| {
            let cost = problem.cost(whole(start), &mut scratch)?;
            Some((cost, start))
        });
        let (cost, start) = built.min_by(|one, other| one.0.cmp(&other.0))?;
        let tasks = (0..).take(problem.tasks());
        let choosable = tasks.filter_map(|task: u32| {
            let choices = u16::try_from(problem.choices(task as usize)).unwrap_or(u16::MAX);
            (choices > 1).then_some((task, choices))
        });
        let mut chain = Self {
            problem,
            dice: Dice::new(seed, stream),
            scratch,
            choosable: choosable.collect(),
            current: start.clone(),
            current_cost: cost.clone(),
            candidate: start.clone(),
            best: start.clone(),
            best_cost: cost.clone(),
            start_cost: cost,
            iterations: starts.len() as u64,
            heat: Heat::default(),
            has_descent: false,
        };
        chain.prepare();
        Some(chain)
    }

    /// Finds out how the problem wants to be searched, and how hot annealing begins.
    fn prepare(&mut self) {
        let mut effort = Effort::unlimited();
        let mut sequence = self.current.clone();
        let descended = self
            .problem
            .descend(&mut sequence, &mut self.scratch, &mut self.dice, &mut effort);
        self.iterations += effort.used();
        if let Some(cost) = descended {
            self.has_descent = true;
            self.become_current(&sequence, cost);
            return;
        }
        self.rebuild_current();
        let energy = self.problem.energy(&self.current_cost);
        let mut rises = Vec::with_capacity(SAMPLES);
        for _ in 0..SAMPLES {
            self.propose();
            if let Some(cost) = self.problem.cost(whole(&self.candidate), &mut self.scratch) {
                rises.push(self.problem.energy(&cost) - energy);
                if cost < self.best_cost {
                    self.best.copy_from(&self.candidate);
                    self.best_cost = cost;
                }
            }
            self.candidate.copy_from(&self.current);
        }
        self.iterations += SAMPLES as u64;
        self.heat = Heat::of_rises(rises, self.problem.cooling());
        self.rebuild_current();
    }

    pub fn run(&mut self, leg: Leg<'_>) {
        let mut effort = Effort::new(leg.iterations, leg.spent);
        let before = self.iterations;
        while effort.goes_on() && !self.problem.is_optimal(&self.best_cost) {
            if self.has_descent {
                self.kick_and_descend(&mut effort);
            } else {
                let by_iterations = share_of(before + effort.used(), leg.iterations_in_all);
                self.anneal((leg.spent)().max(by_iterations), &mut effort);
            }
        }
        self.iterations = before + effort.used();
    }

    /// Some moves at one temperature.
    fn anneal(&mut self, share: f64, effort: &mut Effort<'_>) {
        let temperature = self.heat.at(cycle_at(share, self.problem.cooling().cycles).1);
        for _ in 0..MOVES_AT_A_TEMPERATURE {
            let current = self.problem.energy(&self.current_cost);
            let limit = current - temperature * self.dice.unit().ln();
            self.step(limit);
            if !effort.spend(1) {
                break;
            }
        }
    }

    /// Tries one move: it stays if the schedule's energy is within the limit.
    fn step(&mut self, limit: f64) {
        let changed = self.propose();
        if changed.is_empty() {
            return;
        }
        let asked = Candidate {
            order: &self.candidate.order,
            choice: &self.candidate.choice,
            unchanged: changed.start,
            limit,
        };
        let built = self.problem.cost(asked, &mut self.scratch);
        if let Some(cost) = built.filter(|cost| self.problem.energy(cost) <= limit) {
            self.problem.keep(&mut self.scratch);
            self.current.order[changed.clone()].copy_from_slice(&self.candidate.order[changed]);
            self.current.choice.copy_from_slice(&self.candidate.choice);
            if cost < self.best_cost {
                self.best.copy_from(&self.current);
                self.best_cost = cost.clone();
            }
            self.current_cost = cost;
        } else {
            self.candidate.order[changed.clone()].copy_from_slice(&self.current.order[changed]);
            self.candidate.choice.copy_from_slice(&self.current.choice);
        }
    }

    /// Changes the candidate by one move; the places that may differ from the current sequence.
    fn propose(&mut self) -> Range<usize> {
        if self.dice.per_mille(self.problem.own_moves_per_mille()) {
            let own = self
                .problem
                .own_move(&mut self.candidate, &mut self.scratch, &mut self.dice);
            return own.map_or(0..0, |first| first..self.candidate.order.len());
        }
        random_move(&mut self.candidate, &mut self.dice, &self.choosable)
    }

    /// Iterated local search: the descent's end stays if it is no worse than where the kick began.
    fn kick_and_descend(&mut self, effort: &mut Effort<'_>) {
        let (problem, candidate) = (self.problem, &mut self.candidate);
        candidate.copy_from(&self.current);
        kick(candidate, &mut self.dice, &self.choosable);
        let Some(cost) = problem.descend(candidate, &mut self.scratch, &mut self.dice, effort) else {
            return;
        };
        effort.spend(1);
        if cost <= self.current_cost {
            self.current.copy_from(&self.candidate);
            self.current_cost = cost.clone();
        }
        if cost < self.best_cost {
            self.best.copy_from(&self.candidate);
            self.best_cost = cost;
        }
    }

    /// Goes on from another chain's best.
    pub fn adopt(&mut self, sequence: &Sequence, cost: &P::Cost) {
        self.become_current(sequence, cost.clone());
        self.rebuild_current();
    }

    fn become_current(&mut self, sequence: &Sequence, cost: P::Cost) {
        self.current.copy_from(sequence);
        self.candidate.copy_from(sequence);
        if cost < self.best_cost {
            self.best.copy_from(sequence);
            self.best_cost = cost.clone();
        }
        self.current_cost = cost;
    }

    /// The scratch last held another candidate: build the current one again, so that moves can go on from it.
    fn rebuild_current(&mut self) {
        if self
            .problem
            .cost(whole(&self.current), &mut self.scratch)
            .is_some()
        {
            self.problem.keep(&mut self.scratch);
        }
    }
}

/// Moves tried from the start to learn how much worse a move makes things.
const SAMPLES: usize = 256;
const MOVES_AT_A_TEMPERATURE: u32 = 64;

fn whole(sequence: &Sequence) -> Candidate<'_> {
    Candidate {
        order: &sequence.order,
        choice: &sequence.choice,
        unchanged: 0,
        limit: f64::INFINITY,
    }
}
