mod floor_cases;
mod rules;
mod whole;

use super::{Effort, Schedule, compute};
use crate::plan::model::PlanOptions;
use crate::plan::tests::generated;
use crate::shop::given::Given;

pub use asked::*;
mod asked;

pub fn made(given: &Given, options: &PlanOptions, iterations: u64) -> Schedule {
    let site = given.shop.site.as_ref().unwrap();
    let effort = Effort::of_iterations(iterations, 1);
    match compute(&given.shop, site, options, given.now, effort) {
        Ok(schedule) => schedule,
        Err(faults) => panic!("{} faults: {:#?}", faults.len(), &faults[..faults.len().min(5)]),
    }
}

/// Whatever the shop: the checker passes the plan.
#[test]
fn plans_of_generated_shops_pass_the_checker() {
    for seed in 0..20 {
        let given = generated::shop(seed, 8 + usize::try_from(seed).unwrap() % 30);
        let schedule = made(&given, &PlanOptions::default(), 600);
        assert!(
            !schedule.loads.is_empty() || !schedule.left_out.is_empty(),
            "seed {seed}"
        );
    }
}

/// The same in the middle of the work: runs in progress, loads on stands, holds, setups that somebody is at.
#[test]
fn plans_of_shops_at_work_pass_the_checker() {
    let (mut running, mut ready, mut cut, mut held) = (0, 0, 0, 0);
    for seed in 0..36 {
        let given = generated::shop_at_work(seed, 8 + usize::try_from(seed).unwrap() % 30);
        made(&given, &PlanOptions::default(), 400);
        for load in given
            .shop
            .pallets
            .values()
            .filter_map(|pallet| pallet.load.as_ref())
        {
            match load.stage {
                crate::load::Stage::InRun { .. } => running += 1,
                crate::load::Stage::Cut { .. } => cut += 1,
                _ => ready += 1,
            }
            held += usize::from(load.hold.is_some());
        }
    }
    assert!(
        running.min(ready).min(cut).min(held) >= 5,
        "{running} {ready} {cut} {held}"
    );
}
