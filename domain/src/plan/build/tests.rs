use super::Builder;
use crate::plan::model::{PlanOptions, model};
use crate::plan::schedule::{Effort, compute};
use crate::plan::search::{Candidate, Dice, Problem, Sequence};
use crate::plan::tests::generated;

/// A candidate that begins like the last kept one costs the same whether it is built from there on or from the beginning.
#[test]
fn what_begins_alike_is_not_built_again_and_costs_the_same() {
    for seed in 0..12 {
        let given = generated::shop_at_work(seed, 40);
        let site = given.shop.site.as_ref().unwrap();
        let taken = model(&given.shop, site, &PlanOptions::default(), given.now);
        let builder = Builder::new(&taken.model);
        let (mut work, mut whole) = (builder.scratch(), builder.new_scratch());
        let mut kept = Sequence::in_given_order(builder.tasks());
        let (mut dice, mut unchanged) = (Dice::new(seed, 3), 0);
        for _ in 0..150 {
            let mut sequence = kept.clone();
            let (one, other) = (dice.below(builder.tasks()), dice.below(builder.tasks()));
            sequence.order.swap(one, other);
            let task = sequence.order[one.max(other)] as usize;
            sequence.choice[task] = u16::try_from(dice.below(builder.choices(task))).unwrap();
            let candidate = Candidate {
                order: &sequence.order,
                choice: &sequence.choice,
                unchanged: unchanged.min(one).min(other),
                limit: f64::INFINITY,
            };
            let cost = builder.cost(candidate, &mut work).unwrap();
            assert_eq!(cost, builder.build(&sequence, &mut whole), "seed {seed}");
            if dice.per_mille(400) {
                builder.keep(&mut work);
                kept = sequence;
                unchanged = usize::MAX;
            }
        }
    }
}

/// Calls with every order of so many tasks (Heap's algorithm).
fn each_order(order: &mut Vec<u32>, length: usize, call: &mut dyn FnMut(&[u32])) {
    if length <= 1 {
        return call(order);
    }
    for place in 0..length {
        each_order(order, length - 1, call);
        let other = if length.is_multiple_of(2) { place } else { 0 };
        order.swap(other, length - 1);
    }
}

/// In shops so small that every order can be built, and every way of each load, the search finds the best of all.
#[test]
fn in_tiny_shops_the_search_finds_the_best_of_all_schedules() {
    let mut tried = 0;
    for seed in 0..60 {
        let given = generated::shop(seed, 3);
        let site = given.shop.site.as_ref().unwrap();
        let taken = model(&given.shop, site, &PlanOptions::default(), given.now);
        let builder = Builder::new(&taken.model);
        let tasks = builder.tasks();
        let choices: Vec<usize> = (0..tasks).map(|task| builder.choices(task)).collect();
        let ways: usize = choices.iter().product();
        if !(2..=5).contains(&tasks) || ways > 64 {
            continue;
        }
        let mut scratch = builder.new_scratch();
        let mut best = None;
        for way in 0..ways {
            let mut rest = way;
            let choice: Vec<u16> = choices
                .iter()
                .map(|many| {
                    let one = rest % many;
                    rest /= many;
                    u16::try_from(one).unwrap()
                })
                .collect();
            let mut order: Vec<u32> = (0..).take(tasks).collect();
            each_order(&mut order, tasks, &mut |order| {
                let sequence = Sequence {
                    order: order.to_vec(),
                    choice: choice.clone(),
                };
                let cost = builder.build(&sequence, &mut scratch);
                best = Some(best.map_or(cost, |best: super::Cost| best.min(cost)));
            });
        }
        let effort = Effort::of_iterations(4_000, 1);
        let found = compute(&given.shop, site, &PlanOptions::default(), given.now, effort).unwrap();
        assert_eq!(Some(found.cost), best, "seed {seed}, {tasks} loads, {ways} ways");
        tried += 1;
    }
    assert!(tried >= 8, "{tried}");
}
