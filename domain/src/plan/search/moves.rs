//! The moves that every problem has: take a task elsewhere, exchange two, take a block elsewhere, choose otherwise.

use super::{Dice, Sequence};
use std::cmp::Ordering;
use std::ops::Range;

/// A block of one or two tasks is covered by the other moves.
const BLOCK_MIN: usize = 2;
const BLOCK_MAX: usize = 12;

/// Changes the sequence. The range of places that may differ afterwards; empty if it stayed as it was.
pub fn random_move(sequence: &mut Sequence, dice: &mut Dice, choosable: &[(u32, u16)]) -> Range<usize> {
    let order = &mut sequence.order;
    if !choosable.is_empty() && dice.per_mille(250) {
        return choose_otherwise(sequence, dice, choosable);
    }
    if order.len() < 2 {
        return 0..0;
    }
    match dice.below(100) {
        0..50 => {
            let from = dice.below(order.len());
            let to = reach(from, order.len(), dice);
            take_to(order, from..from + 1, to)
        }
        50..85 => {
            let one = dice.below(order.len());
            let other = reach(one, order.len(), dice);
            order.swap(one, other);
            one.min(other)..one.max(other) + 1
        }
        _ => {
            let length_max = BLOCK_MAX.min(order.len() / 2).max(1);
            let length = (BLOCK_MIN + dice.below(length_max)).min(order.len() - 1);
            let from = dice.below(order.len() - length + 1);
            let to = dice.below(order.len() - length + 1);
            take_to(order, from..from + length, to)
        }
    }
}

/// Another place, mostly near by: half of the draws within an eighth of the order.
fn reach(place: usize, places: usize, dice: &mut Dice) -> usize {
    let near = places / 8;
    if near < 2 || dice.per_mille(500) {
        return dice.below(places);
    }
    let low = place.saturating_sub(near);
    let high = (place + near + 1).min(places);
    low + dice.below(high - low)
}

/// Takes a range of places out and puts it in again so that its first task stands at `to`.
fn take_to(order: &mut [u32], range: Range<usize>, to: usize) -> Range<usize> {
    let length = range.len();
    match to.cmp(&range.start) {
        Ordering::Less => {
            order[to..range.end].rotate_right(length);
            to..range.end
        }
        Ordering::Greater => {
            order[range.start..to + length].rotate_left(length);
            range.start..to + length
        }
        Ordering::Equal => 0..0,
    }
}

fn choose_otherwise(sequence: &mut Sequence, dice: &mut Dice, choosable: &[(u32, u16)]) -> Range<usize> {
    let (task, choices) = choosable[dice.below(choosable.len())];
    let Some(place) = sequence.order.iter().position(|&other| other == task) else {
        return 0..0;
    };
    let choice = &mut sequence.choice[task as usize];
    let step = 1 + dice.below(usize::from(choices) - 1);
    let next = (usize::from(*choice) + step) % usize::from(choices);
    *choice = u16::try_from(next).unwrap_or(0);
    place..place + 1
}

/// Some moves at once, from which a descent finds its way to another local optimum.
pub fn kick(sequence: &mut Sequence, dice: &mut Dice, choosable: &[(u32, u16)]) {
    for _ in 0..3 + dice.below(6) {
        random_move(sequence, dice, choosable);
    }
}
