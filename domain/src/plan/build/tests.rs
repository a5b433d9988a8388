use super::Builder;
use crate::plan::model::{PlanOptions, model};
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
