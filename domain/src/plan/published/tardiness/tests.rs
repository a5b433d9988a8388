//! Anchors on all 125 instances of wt40, computed independently of this project from the same rules.

use super::*;
use crate::plan::published::Published;
use crate::plan::published::tests::family;
use proptest::prelude::*;

fn instances() -> Vec<(i64, Tardiness)> {
    let named = family("wt40").into_iter();
    let instances = named.map(|named| match named.problem {
        Published::Tardiness(jobs) => (named.published.unwrap(), jobs),
        other => panic!("{other:?}"),
    });
    instances.collect()
}

fn values(rule: fn(&Tardiness) -> Vec<u32>) -> Vec<i64> {
    let instances = instances();
    instances
        .iter()
        .map(|(_, jobs)| jobs.evaluate(&rule(jobs)).unwrap())
        .collect()
}

#[test]
fn dispatch_rules_have_the_values_that_they_are_known_to_have() {
    let due = values(Tardiness::by_due_date);
    assert_eq!(due.iter().sum::<i64>(), 9_844_923);
    assert_eq!(due[..5], [1588, 5226, 3051, 5527, 4030]);
    let weight = values(Tardiness::by_weight_for_time);
    assert_eq!(weight.iter().sum::<i64>(), 6_079_610);
    assert_eq!(weight[..5], [3066, 1889, 2351, 4011, 2132]);
    let apparent = values(Tardiness::by_apparent_cost);
    assert_eq!(apparent.iter().sum::<i64>(), 4_799_267);
    assert_eq!(apparent[..5], [1062, 1465, 951, 2252, 1433]);
    let best: i64 = instances().iter().map(|(best, _)| best).sum();
    assert_eq!(best, 4_705_225);
}

#[test]
fn earliest_due_date_is_without_tardiness_exactly_where_any_order_is() {
    let instances = instances();
    let zero = instances.iter().map(|(best, _)| *best == 0);
    let due = values(Tardiness::by_due_date);
    assert!(zero.clone().eq(due.iter().map(|value| *value == 0)));
    assert_eq!(zero.filter(|zero| *zero).count(), 18);
}

#[test]
fn an_order_that_lacks_a_job_or_has_it_twice_has_no_value() {
    let (_, jobs) = &instances()[0];
    let mut order = jobs.by_due_date();
    order[0] = order[1];
    assert_eq!(jobs.evaluate(&order), None);
    assert_eq!(jobs.evaluate(&order[1..]), None);
}

proptest! {
    /// The descent reckons with differences; the order that it leaves must be whole, and no worse by the plain value.
    #[test]
    fn a_descent_never_loses_a_job_nor_makes_the_order_worse(
        rows in prop::collection::vec((1_i64..50, 0_i64..10, 0_i64..300), 2..12), seed in any::<u64>(),
    ) {
        let jobs: Vec<Job> = rows.iter().map(|&(time, weight, due)| Job { time, weight, due }).collect();
        let problem = Tardiness { jobs };
        let mut sequence = Sequence::in_given_order(problem.jobs.len());
        let before = problem.evaluate(&sequence.order).unwrap();
        let mut dice = Dice::new(seed, 0);
        let mut effort = Effort::unlimited();
        let cost = problem.descend(&mut sequence, &mut Vec::new(), &mut dice, &mut effort).unwrap();
        prop_assert_eq!(problem.evaluate(&sequence.order), Some(cost));
        prop_assert!(cost <= before);
        // At the end no exchange of two and no job elsewhere is better, tried plainly.
        for from in 0..sequence.order.len() {
            for to in 0..sequence.order.len() {
                let mut exchanged = sequence.order.clone();
                exchanged.swap(from, to);
                prop_assert!(problem.evaluate(&exchanged).unwrap() >= cost);
                let mut moved = sequence.order.clone();
                let job = moved.remove(from);
                moved.insert(to, job);
                prop_assert!(problem.evaluate(&moved).unwrap() >= cost);
            }
        }
    }
}
