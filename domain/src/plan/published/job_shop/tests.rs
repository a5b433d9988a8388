use super::*;
use crate::plan::published::Published;
use crate::plan::published::tests::problem;

fn shop(file: &str, name: &str) -> JobShop {
    match problem(file, name) {
        Published::JobShop(shop) => shop,
        other => panic!("{other:?}"),
    }
}

/// Two jobs over two machines in opposite directions; by hand: job 0 is 3 on machine 0, then 2 on machine 1, job 1 is 4
/// on machine 1, then 1 on machine 0.
fn small() -> JobShop {
    let one = |machine, time| vec![Way { machine, time }];
    JobShop::new(2, &[vec![one(0, 3), one(1, 2)], vec![one(1, 4), one(0, 1)]])
}

#[test]
fn a_small_shop_is_built_as_by_hand() {
    let shop = small();
    // Job 0 waits for machine 1 until 4 and ends at 6; job 1 ends at 5.
    let timed = shop.timed(&Sequence::of_order(vec![0, 2, 1, 3]));
    let at = |machine, start, end| Timed { machine, start, end };
    assert_eq!(timed, [at(0, 0, 3), at(1, 4, 6), at(1, 0, 4), at(0, 4, 5)]);
    assert_eq!(verify(&shop, &timed), Ok(6));
    // Machine 1 has 6 to do.
    assert_eq!(shop.lower_bound(), 6);
}

#[test]
fn a_schedule_that_breaks_a_rule_is_refused() {
    let shop = small();
    let right = shop.timed(&Sequence::of_order(vec![0, 2, 1, 3]));
    let with = |operation: usize, machine, start, end| {
        let mut schedule = right.clone();
        schedule[operation] = Timed { machine, start, end };
        verify(&shop, &schedule)
    };
    assert_eq!(verify(&shop, &right[1..]), Err(Broken::Count(3, 4)));
    assert_eq!(with(0, 1, 0, 3), Err(Broken::Way(0)));
    assert_eq!(with(0, 0, 0, 2), Err(Broken::Way(0)));
    assert_eq!(with(0, 0, -1, 2), Err(Broken::Way(0)));
    assert_eq!(with(1, 1, 2, 4), Err(Broken::Precedence(1)));
    assert_eq!(with(1, 1, 3, 5), Err(Broken::Machine(1, 3)));
}

/// What the search is told of a move without building the whole schedule is what building it says.
#[test]
fn a_move_is_judged_as_the_whole_schedule_is() {
    for (file, name) in [("jobshop", "ft06"), ("jobshop", "la16"), ("flexible_mk", "mk01")] {
        let shop = shop(file, name);
        let mut dice = Dice::new(3, 0);
        let mut scratch = shop.scratch();
        let mut sequence = shop.starts().remove(0);
        let asked = |sequence: &Sequence| (sequence.order.clone(), sequence.choice.clone());
        let ask = |scratch: &mut Scratch, (order, choice): &(Vec<u32>, Vec<u16>), limit: f64| {
            let candidate = Candidate {
                order,
                choice,
                unchanged: 0,
                limit,
            };
            shop.cost(candidate, scratch)
        };
        let mut current = ask(&mut scratch, &asked(&sequence), f64::INFINITY).unwrap();
        shop.keep(&mut scratch);
        let (mut moves, mut judged_short) = (0, 0);
        for _ in 0..3_000 {
            let before = sequence.clone();
            let Some(first) = shop.own_move(&mut sequence, &mut scratch, &mut dice) else {
                assert_eq!(before, sequence);
                continue;
            };
            moves += 1;
            assert_eq!(before.order[..first], sequence.order[..first]);
            judged_short += usize::from(scratch.pending.is_set);
            let plain = verify(&shop, &shop.timed(&sequence)).unwrap();
            let limit = f64::from(u32::try_from(current).unwrap()) + 5.0;
            let built = ask(&mut scratch, &asked(&sequence), limit);
            assert_eq!(built, (plain <= current + 5).then_some(plain), "{name}");
            match built {
                Some(cost) => {
                    shop.keep(&mut scratch);
                    current = cost;
                }
                None => sequence = before,
            }
        }
        assert!(
            moves > 1_500 && judged_short > 500,
            "{name}: {moves} moves, {judged_short} judged short"
        );
    }
}
