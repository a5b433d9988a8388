//! Down to an order that neither taking one job elsewhere nor exchanging two makes better. Taking a job along the order
//! one neighbour at a time costs one step for each place, so all places together cost no more than one schedule
//! (neighbourhoods as in Congram, Potts & van de Velde, INFORMS Journal on Computing 14, 2002).

use super::Tardiness;
use crate::plan::search::{Dice, Effort};

pub fn descend(
    problem: &Tardiness,
    order: &mut [u32],
    ends: &mut Vec<i64>,
    dice: &mut Dice,
    effort: &mut Effort<'_>,
) {
    let places = order.len();
    if places < 2 {
        return;
    }
    end_times(problem, order, ends);
    // A turn looks at every place once, beginning anywhere; a turn without a gain ends the descent.
    let mut without_gain = 0;
    let mut place = dice.below(places);
    while without_gain < places && effort.goes_on() {
        let gained = take_elsewhere(problem, order, ends, place) || exchange(problem, order, ends, place);
        effort.spend(1);
        if gained {
            without_gain = 0;
        } else {
            without_gain += 1;
            place = (place + 1) % places;
        }
    }
}

fn end_times(problem: &Tardiness, order: &[u32], ends: &mut Vec<i64>) {
    let mut now = 0;
    ends.clear();
    ends.extend(order.iter().map(|&job| {
        now += problem.jobs[job as usize].time;
        now
    }));
}

/// Moves the job at `from` to its best place. Whether that made the order better.
fn take_elsewhere(problem: &Tardiness, order: &mut [u32], ends: &mut Vec<i64>, from: usize) -> bool {
    let moved = problem.jobs[order[from] as usize];
    let before = moved.tardiness(ends[from]);
    let (mut best, mut best_to) = (0, from);
    let (mut others, mut now) = (0, ends[from] - moved.time);
    for to in from + 1..order.len() {
        let passed = problem.jobs[order[to] as usize];
        now += passed.time;
        others += passed.tardiness(now) - passed.tardiness(ends[to]);
        let change = others + moved.tardiness(now + moved.time) - before;
        if change < best {
            (best, best_to) = (change, to);
        }
    }
    others = 0;
    for to in (0..from).rev() {
        let passed = problem.jobs[order[to] as usize];
        others += passed.tardiness(ends[to] + moved.time) - passed.tardiness(ends[to]);
        if before + best.min(0) < others {
            break;
        }
        let change = others + moved.tardiness(ends[to] - passed.time + moved.time) - before;
        if change < best {
            (best, best_to) = (change, to);
        }
    }
    if best == 0 {
        return false;
    }
    if best_to > from {
        order[from..=best_to].rotate_left(1);
    } else {
        order[best_to..=from].rotate_right(1);
    }
    end_times(problem, order, ends);
    true
}

/// Exchanges the job at `first` with the best one behind it. Whether that made the order better.
fn exchange(problem: &Tardiness, order: &mut [u32], ends: &mut Vec<i64>, first: usize) -> bool {
    let one = problem.jobs[order[first] as usize];
    let (mut best, mut best_second) = (0, first);
    for second in first + 2..order.len() {
        let other = problem.jobs[order[second] as usize];
        let shift = other.time - one.time;
        let mut change = other.tardiness(ends[first] + shift) - other.tardiness(ends[second])
            + one.tardiness(ends[second])
            - one.tardiness(ends[first]);
        for between in first + 1..second {
            let passed = problem.jobs[order[between] as usize];
            change += passed.tardiness(ends[between] + shift) - passed.tardiness(ends[between]);
        }
        if change < best {
            (best, best_second) = (change, second);
        }
    }
    if best == 0 {
        return false;
    }
    order.swap(first, best_second);
    end_times(problem, order, ends);
    true
}
