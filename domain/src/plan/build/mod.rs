//! The builder: from an order of loads, and a way for each, to a schedule that keeps every rule. It never takes back what
//! it has placed, and needs no memory of its own beyond its scratch.
//!
//! Loads are placed one after the other: on a machine always behind what is there, in people's hands in the first gap
//! that takes the work whole. A load whose pieces do not exist yet waits for the load that brings them.

mod cost;
mod hands;
mod holds;
mod pallets;
mod piles;
mod place;
mod run;
mod starts;
mod state;
#[cfg(test)]
mod tests;
mod unload;
mod work;

pub use cost::Cost;
pub use state::{LeftOut, NO_TIME, Placed, Scratch, Span};
pub use work::Work;

use crate::plan::model::{Aim, LoadKey, Model};
use crate::plan::search::{Candidate, Problem, Sequence};
use std::collections::BTreeMap;

/// What of the last plan concerns a load, as places in the model.
#[derive(Clone, Copy, Debug)]
struct Before {
    machine: usize,
    pallet: usize,
    after: Option<usize>,
}

pub struct Builder<'a> {
    model: &'a Model,
    /// By load.
    before: Vec<Option<Before>>,
    has_last_plan: bool,
    /// Jobs of each line that have to be complete.
    jobs_of_line: Vec<u32>,
    empty: Scratch,
}

impl<'a> Builder<'a> {
    pub fn new(model: &'a Model) -> Self {
        let by_key: BTreeMap<LoadKey, usize> = model
            .loads
            .iter()
            .enumerate()
            .map(|(index, load)| (load.key, index))
            .collect();
        let before = |load: &crate::plan::model::LoadToPlan| {
            let last = load.last?;
            Some(Before {
                machine: model.machines.iter().position(|one| one.id == last.machine)?,
                pallet: model.pallets.iter().position(|one| one.id == last.pallet)?,
                after: last.after.and_then(|key| by_key.get(&key).copied()),
            })
        };
        let mut jobs_of_line = vec![0; model.lines.len()];
        for job in model.jobs.iter().filter(|job| cost::counts(job)) {
            if let Some(line) = job.line {
                jobs_of_line[line] += 1;
            }
        }
        let before: Vec<_> = model.loads.iter().map(before).collect();
        Self {
            model,
            has_last_plan: before.iter().any(Option::is_some),
            before,
            jobs_of_line,
            empty: Scratch::new(model),
        }
    }

    pub const fn model(&self) -> &Model {
        self.model
    }

    /// The whole schedule of a sequence, for reading.
    pub fn build(&self, sequence: &Sequence, scratch: &mut Scratch) -> Cost {
        self.begin(scratch);
        for &task in &sequence.order {
            let choice = sequence.choice[task as usize];
            self.place_with_followers(scratch, self.model.fixed + task as usize, choice);
        }
        self.take_off_the_rest(scratch, &sequence.choice);
        self.cost_of(scratch)
    }

    fn begin(&self, scratch: &mut Scratch) {
        scratch.reset(&self.empty, &self.jobs_of_line);
        self.count_what_is_made(scratch);
        for load in 0..self.model.fixed {
            self.place_with_followers(scratch, load, 0);
        }
    }

    pub fn new_scratch(&self) -> Scratch {
        self.empty.clone()
    }
}

impl Problem for Builder<'_> {
    type Cost = Cost;
    type Scratch = Work;

    fn tasks(&self) -> usize {
        self.model.movable().len()
    }

    fn choices(&self, task: usize) -> usize {
        self.model.movable()[task].ways.max(1)
    }

    fn scratch(&self) -> Work {
        Work::new(&self.empty, self.tasks())
    }

    fn cost(&self, candidate: Candidate<'_>, work: &mut Work) -> Option<Cost> {
        let from = work.go_back(candidate.unchanged);
        if from == 0 {
            self.begin(&mut work.now);
        }
        let prunes = self.model.aim == Aim::Due && candidate.limit.is_finite();
        for (place, &task) in candidate.order.iter().enumerate().skip(from) {
            work.mark(place);
            let choice = candidate.choice[task as usize];
            self.place_with_followers(&mut work.now, self.model.fixed + task as usize, choice);
            if prunes && place % 8 == 7 && cost::as_f64(work.now.tardiness) > candidate.limit {
                return None;
            }
        }
        self.take_off_the_rest(&mut work.now, candidate.choice);
        Some(self.cost_of(&work.now))
    }

    fn keep(&self, work: &mut Work) {
        work.keep();
    }

    fn energy(&self, cost: &Cost) -> f64 {
        cost.energy(self.model)
    }

    fn starts(&self) -> Vec<Sequence> {
        self.dispatch_rules()
    }
}
