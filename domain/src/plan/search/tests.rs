use super::*;

/// The tasks shall stand in the order of their numbers; the cost is the sum of the distances.
struct Sorting(usize);

impl Problem for Sorting {
    type Cost = u64;
    type Scratch = ();

    fn tasks(&self) -> usize {
        self.0
    }

    fn scratch(&self) {}

    fn cost(&self, candidate: Candidate<'_>, (): &mut ()) -> Option<u64> {
        let distances = candidate.order.iter().zip(0_u32..);
        Some(
            distances
                .map(|(task, place)| u64::from(task.abs_diff(place)))
                .sum(),
        )
    }

    #[expect(clippy::cast_precision_loss, reason = "small")]
    fn energy(&self, cost: &u64) -> f64 {
        *cost as f64
    }

    fn starts(&self) -> Vec<Sequence> {
        vec![Sequence::of_order(
            (0..).take(self.0).map(|task: u32| 29 - task).collect(),
        )]
    }

    fn is_optimal(&self, cost: &u64) -> bool {
        *cost == 0
    }
}

fn sorted(seed: u64, workers: usize) -> Found<u64> {
    let settings = Settings {
        seed,
        workers,
        chains: 4,
    };
    search(
        &Sorting(30),
        &settings,
        &Allowance::of_iterations(200_000),
        &mut |_| {},
    )
    .unwrap()
}

#[test]
fn thirty_tasks_are_put_in_order() {
    let found = sorted(1, 2);
    assert_eq!(found.sequence.order, (0..30).collect::<Vec<u32>>());
    assert_eq!(found.cost, 0);
    // By hand: 29 + 27 + … + 1, twice.
    assert_eq!(found.start_cost, 450);
}

#[test]
fn the_number_of_workers_changes_nothing() {
    for seed in 1..4 {
        let one = sorted(seed, 1);
        assert_eq!(one, sorted(seed, 2));
        assert_eq!(one, sorted(seed, 4));
    }
}
