use super::{Effort, Schedule, compute};
use crate::plan::generated;
use crate::plan::model::PlanOptions;
use crate::shop::given::Given;

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
    for seed in 0..60 {
        let given = generated::shop(seed, 8 + usize::try_from(seed).unwrap() % 30);
        let schedule = made(&given, &PlanOptions::default(), 600);
        assert!(
            !schedule.loads.is_empty() || !schedule.left_out.is_empty(),
            "seed {seed}"
        );
    }
}
