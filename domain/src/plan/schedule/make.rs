//! From the shop to a schedule that the checker has passed.

use super::{Schedule, read};
use crate::plan::build::{Builder, Cost, Work};
use crate::plan::check::{Fault, check};
use crate::plan::model::{Model, PlanOptions, Taken, model};
use crate::plan::search::{Allowance, Candidate, Found, Problem, Progress, Sequence, Settings, search};
use crate::shop::Shop;
use crate::site::Site;
use crate::time::Timestamp;

/// Far more than a job shop has open at once.
pub const LOADS_MAX: usize = 5_000;

/// How long and how to search.
#[derive(Clone, Copy)]
pub struct Effort<'a> {
    pub settings: Settings,
    pub allowance: Allowance<'a>,
}

impl Effort<'static> {
    /// Repeatable: so many schedules from this seed.
    pub fn of_iterations(iterations: u64, seed: u64) -> Self {
        Self {
            settings: Settings {
                seed,
                ..Settings::default()
            },
            allowance: Allowance::of_iterations(iterations),
        }
    }
}

/// The best schedule that the effort gives. A schedule that breaks a rule never leaves: its faults do.
pub fn compute(
    shop: &Shop,
    site: &Site,
    options: &PlanOptions,
    now: Timestamp,
    effort: Effort<'_>,
) -> Result<Schedule, Vec<Fault>> {
    compute_with(shop, site, options, now, effort, &mut |_| {})
}

/// The same; tells the best cost so far.
pub fn compute_with(
    shop: &Shop,
    site: &Site,
    options: &PlanOptions,
    now: Timestamp,
    effort: Effort<'_>,
    progress: &mut dyn FnMut(Progress<'_, Cost>),
) -> Result<Schedule, Vec<Fault>> {
    let taken = model(shop, site, options, now);
    let loads = taken.model.loads.len();
    if loads > LOADS_MAX {
        let text = format!("{loads} loads are to be planned, more than {LOADS_MAX}");
        let rule = "too-many-loads";
        return Err(vec![Fault { rule, text }]);
    }
    let schedule = of_model(&taken, effort, progress);
    let faults = check(shop, site, options, now, &schedule);
    if faults.is_empty() {
        Ok(schedule)
    } else {
        Err(faults)
    }
}

fn of_model(taken: &Taken, effort: Effort<'_>, progress: &mut dyn FnMut(Progress<'_, Cost>)) -> Schedule {
    let builder = Builder::new(&taken.model);
    let mut scratch = builder.new_scratch();
    let sequence = best_sequence(&builder, &taken.model, effort, progress);
    let cost = builder.build(&sequence, &mut scratch);
    read(taken, &scratch, cost)
}

/// First everything at once; then, with what comes first kept as good as it is, the rest.
pub(crate) fn best_sequence(
    builder: &Builder<'_>,
    model: &Model,
    effort: Effort<'_>,
    progress: &mut dyn FnMut(Progress<'_, Cost>),
) -> Sequence {
    let tasks = model.movable().len();
    if tasks == 0 {
        return Sequence::in_given_order(0);
    }
    let allowance = effort.allowance;
    let first = Allowance {
        iterations: allowance.iterations / 4 * 3,
        spent: &|| (allowance.spent)() / FIRST_SHARE,
    };
    let Some(found) = search(builder, &effort.settings, &first, progress) else {
        return Sequence::in_given_order(tasks);
    };
    let refined = Refined {
        builder,
        first: found.cost.first,
        start: found.sequence.clone(),
    };
    let rest = Allowance {
        iterations: allowance.iterations / 4,
        spent: &|| ((allowance.spent)() - FIRST_SHARE).max(0.0) / (1.0 - FIRST_SHARE),
    };
    let better: Option<Found<Cost>> = search(&refined, &effort.settings, &rest, progress);
    match better {
        Some(better) if better.cost < found.cost => better.sequence,
        _ => found.sequence,
    }
}

const FIRST_SHARE: f64 = 0.75;

/// The same problem, where only the second part of the cost may still change.
struct Refined<'a> {
    builder: &'a Builder<'a>,
    first: i64,
    start: Sequence,
}

impl Problem for Refined<'_> {
    type Cost = Cost;
    type Scratch = Work;

    fn tasks(&self) -> usize {
        self.builder.tasks()
    }

    fn choices(&self, task: usize) -> usize {
        self.builder.choices(task)
    }

    fn scratch(&self) -> Work {
        self.builder.scratch()
    }

    fn cost(&self, candidate: Candidate<'_>, work: &mut Work) -> Option<Cost> {
        let unlimited = Candidate {
            limit: f64::INFINITY,
            ..candidate
        };
        let cost = self.builder.cost(unlimited, work)?;
        (cost.first <= self.first).then_some(cost)
    }

    fn keep(&self, work: &mut Work) {
        self.builder.keep(work);
    }

    fn energy(&self, cost: &Cost) -> f64 {
        let small = f64::from(cost.changes) + f64::from(cost.moved) / 1e6;
        seconds(cost.second) + small / 1e6
    }

    fn starts(&self) -> Vec<Sequence> {
        vec![self.start.clone()]
    }
}

#[expect(
    clippy::cast_precision_loss,
    reason = "annealing compares sizes, not last digits"
)]
fn seconds(value: i64) -> f64 {
    value as f64
}
