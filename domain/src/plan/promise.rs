//! Promises: the earliest honest date of an order that is not entered yet. Many schedules of the same sequence are built,
//! each with cycle times drawn from how long past runs really took.

use super::build::Builder;
use super::check::{Fault, check};
use super::hypothetical::Hypothetical;
use super::model::{Model, NEVER, PlanOptions, Taken, ToolLife, model};
use super::reasons::{Reason, reasons};
use super::rush::joined;
use super::schedule::{Effort, best_sequence, read};
use super::search::{Dice, Sequence};
use crate::shop::Shop;
use crate::site::Site;
use crate::time::Timestamp;

pub const SAMPLES_MAX: usize = 10_000;

/// How long past runs took, in thousandths of what was planned. Without any, runs take what is planned.
#[derive(Clone, Debug, Default)]
pub struct Spread {
    pub per_mille: Vec<u32>,
}

impl Spread {
    fn draw(&self, dice: &mut Dice) -> i64 {
        match self.per_mille.len() {
            0 => 1_000,
            many => i64::from(self.per_mille[dice.below(many)]),
        }
    }

    fn mean(&self) -> i64 {
        let sum: i64 = self.per_mille.iter().map(|one| i64::from(*one)).sum();
        let many = i64::try_from(self.per_mille.len()).unwrap_or(i64::MAX);
        if many == 0 { 1_000 } else { (sum + many / 2) / many }
    }
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Promise {
    /// If every run takes what is planned; `None`: not within a year.
    pub at_planned_speed: Option<Timestamp>,
    /// If every run takes what runs took on average.
    pub at_own_speed: Option<Timestamp>,
    /// Half of the samples are done by then.
    pub p50: Option<Timestamp>,
    pub p90: Option<Timestamp>,
    pub samples: usize,
    /// What its first load waits for now; `None`: nothing.
    pub limited_by: Option<Reason>,
}

/// What makes a promise repeatable.
#[derive(Clone, Copy, Debug)]
pub struct Sampling {
    pub samples: usize,
    pub seed: u64,
}

/// The order goes behind what was promised before it: nobody else pays for it.
pub fn promise(
    shop: &Shop,
    site: &Site,
    wanted: &Hypothetical,
    spread: &Spread,
    options: &PlanOptions,
    now: Timestamp,
    (effort, sampling): (Effort<'_>, Sampling),
) -> Result<Promise, Vec<Fault>> {
    // A date weeks ahead does not hang on the tools that are in the magazine today.
    let options = PlanOptions {
        tool_life: ToolLife::Renewed,
        ..options.clone()
    };
    let without = model(shop, site, &options, now);
    let base = best_sequence(&Builder::new(&without.model), &without.model, effort, &mut |_| {});
    let with_it = wanted.entered_into(shop, now);
    let taken = model(&with_it, site, &options, now);
    let sequence = joined(&without, &base, &taken, false);
    let builder = Builder::new(&taken.model);
    let mut scratch = builder.new_scratch();
    let cost = builder.build(&sequence, &mut scratch);
    let schedule = read(&taken, &scratch, cost);
    let faults = check(&with_it, site, &options, now, &schedule);
    if !faults.is_empty() {
        return Err(faults);
    }
    let own = schedule.loads.iter().map(|load| (load.key, &load.clamped));
    let left_out = schedule.left_out.iter().map(|load| (load.key, &load.clamped));
    let first = own
        .chain(left_out)
        .find(|(_, clamped)| clamped.iter().any(|one| one.job == wanted.job));
    let why = reasons(&with_it, site, &schedule, now);
    let drawn = Drawn {
        taken: &taken,
        builder: &builder,
        sequence: &sequence,
        job: taken.model.jobs.iter().position(|job| job.id == wanted.job),
    };
    let samples = drawn.samples(spread, sampling);
    let of = |percent: usize| {
        samples
            .get((samples.len() * percent).div_ceil(100).max(1) - 1)
            .copied()
    };
    let at = |second: Option<i64>| second.filter(|at| *at < NEVER).map(|at| taken.model.clock.at(at));
    Ok(Promise {
        at_planned_speed: at(drawn.complete(|_| 1_000)),
        at_own_speed: at(drawn.complete(|_| spread.mean())),
        p50: at(of(50)),
        p90: at(of(90)),
        samples: samples.len(),
        limited_by: first.and_then(|(key, _)| why.get(&key).cloned()),
    })
}

struct Drawn<'a> {
    taken: &'a Taken,
    builder: &'a Builder<'a>,
    sequence: &'a Sequence,
    job: Option<usize>,
}

impl Drawn<'_> {
    /// Ascending; [`NEVER`] where a sample does not end within a year.
    fn samples(&self, spread: &Spread, sampling: Sampling) -> Vec<i64> {
        let mut dice = Dice::new(sampling.seed, 0);
        let many = sampling.samples.clamp(1, SAMPLES_MAX);
        let mut samples: Vec<_> = (0..many)
            .filter_map(|_| self.complete(|_| spread.draw(&mut dice)))
            .collect();
        samples.sort_unstable();
        samples
    }

    /// When the order is complete if each load takes so many thousandths of its planned time.
    fn complete(&self, mut per_mille: impl FnMut(usize) -> i64) -> Option<i64> {
        let model: &Model = &self.taken.model;
        let line = model.jobs[self.job?].line?;
        let mut scratch = self.builder.new_scratch();
        let way = |index: usize| {
            let load = &model.loads[index];
            let choice = match index.checked_sub(model.fixed) {
                Some(task) => usize::from(self.sequence.choice[task]) % load.ways.max(1),
                None => 0,
            };
            model.ways_of(load).get(choice).map_or(0, |way| way.cycle_s)
        };
        scratch.cycle_s = (0..model.loads.len())
            .map(|index| (way(index) * per_mille(index) + 500) / 1_000)
            .collect();
        self.builder.build(self.sequence, &mut scratch);
        let done = scratch.line_done[line];
        Some(if done.jobs_left == 0 { done.at } else { NEVER })
    }
}
