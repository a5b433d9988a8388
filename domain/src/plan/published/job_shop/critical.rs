//! Moves on a critical path, the longest chain of operations without a wait: only breaking one of its blocks (operations
//! one after the other on one machine) at its beginning or end can make the schedule shorter.

use super::JobShop;
use super::build::{Kept, NONE, Scratch};
use crate::plan::search::{Dice, Sequence};

/// Which places the last own move has changed, and what stood there.
#[derive(Default)]
pub struct Pending {
    pub is_set: bool,
    pub from: usize,
    pub to: usize,
    pub old: Vec<u32>,
    /// The operation that is done in another way now.
    pub new_way: Option<u32>,
    stay: Vec<u32>,
    go: Vec<u32>,
    path: Vec<u32>,
    blocks: Vec<(usize, usize)>,
}

/// Of 1,000 moves in a shop with choices, so many take an operation to another machine.
const OTHER_MACHINE_PER_MILLE: u32 = 400;
/// Of 1,000 moves on a block, so many exchange two neighbours; the others go to its beginning or end from inside.
const NEIGHBOURS_PER_MILLE: u32 = 600;

/// The first place changed. `None`: no move was found, and the sequence is as it was.
pub fn own_move(
    shop: &JobShop,
    sequence: &mut Sequence,
    scratch: &mut Scratch,
    dice: &mut Dice,
) -> Option<usize> {
    let Scratch { kept, pending, .. } = scratch;
    pending.is_set = false;
    pending.new_way = None;
    trace(shop, kept, &mut pending.path, dice);
    if !shop.choosable.is_empty() && dice.per_mille(OTHER_MACHINE_PER_MILLE) {
        return Some(go_elsewhere(shop, sequence, kept, pending, dice));
    }
    find_blocks(kept, &pending.path, &mut pending.blocks);
    if pending.blocks.is_empty() {
        return None;
    }
    let (begin, end) = pending.blocks[dice.below(pending.blocks.len())];
    let is_first = begin == 0;
    let is_last = end == pending.path.len();
    // At the first block only its end counts, at the last only its beginning (Nowicki & Smutnicki).
    let at_end = if is_first == is_last {
        dice.per_mille(500)
    } else {
        is_first
    };
    let block = &pending.path[begin..end];
    let inner = if dice.per_mille(NEIGHBOURS_PER_MILLE) || block.len() == 2 {
        1
    } else {
        1 + dice.below(block.len() - 1)
    };
    let (earlier, later) = if at_end {
        (block[block.len() - 1 - inner], block[block.len() - 1])
    } else {
        (block[0], block[inner])
    };
    // Neighbours may swap either way; inner operations go to the end, or to the beginning.
    if at_end {
        put_behind(shop, sequence, kept, pending, earlier, later)
    } else {
        put_before(shop, sequence, kept, pending, earlier, later)
    }
}

/// One critical path from its first operation to its last; where two ways lead on, chance says which.
fn trace(shop: &JobShop, kept: &Kept, path: &mut Vec<u32>, dice: &mut Dice) {
    path.clear();
    let operations = kept.end.len();
    let offset = dice.below(operations);
    let all = (0..operations).map(|step| (step + offset) % operations);
    let mut at = all
        .into_iter()
        .find(|&operation| kept.end[operation] == kept.makespan);
    while let Some(operation) = at {
        path.push(u32::try_from(operation).unwrap_or(NONE));
        let start = kept.end[operation] - kept.time[operation];
        let in_job = shop
            .before(u32::try_from(operation).unwrap_or(NONE))
            .unwrap_or(NONE);
        let on_machine = kept.before_on_machine[operation];
        let leads = |before: u32| before != NONE && kept.end[before as usize] == start;
        let before = match (leads(in_job), leads(on_machine)) {
            (true, true) => Some(if dice.per_mille(500) { in_job } else { on_machine }),
            (true, false) => Some(in_job),
            (false, true) => Some(on_machine),
            (false, false) => None,
        };
        at = before.filter(|_| start > 0).map(|before| before as usize);
    }
    path.reverse();
}

/// Ranges of the path on one machine, where a move can help: at least two operations, not the whole path.
fn find_blocks(kept: &Kept, path: &[u32], blocks: &mut Vec<(usize, usize)>) {
    blocks.clear();
    let mut begin = 0;
    for end in 1..=path.len() {
        let goes_on = path
            .get(end)
            .is_some_and(|&next| kept.machine[next as usize] == kept.machine[path[begin] as usize]);
        if goes_on {
            continue;
        }
        let length = end - begin;
        let is_edge = begin == 0 || end == path.len();
        if length > 1 && length < path.len() && !(is_edge && length < 2) {
            blocks.push((begin, end));
        }
        begin = end;
    }
}

/// Puts `earlier` right behind `later` on their machine, and with it what depends on it. `None` if something between
/// them on the machine depends on it.
fn put_behind(
    shop: &JobShop,
    sequence: &mut Sequence,
    kept: &Kept,
    pending: &mut Pending,
    earlier: u32,
    later: u32,
) -> Option<usize> {
    let machine = kept.machine[earlier as usize];
    begin_change(sequence, kept, pending, earlier, later);
    let Pending { old, stay, go, .. } = pending;
    for &operation in old.iter() {
        let depends = operation == earlier || is_tied(kept, go, operation, machine, shop.before(operation));
        if depends && operation != earlier && kept.machine[operation as usize] == machine {
            return None;
        }
        if depends {
            go.push(operation);
        } else {
            stay.push(operation);
        }
    }
    let changed = &mut sequence.order[pending.from..pending.to];
    let (front, back) = changed.split_at_mut(pending.stay.len());
    front.copy_from_slice(&pending.stay);
    back.copy_from_slice(&pending.go);
    pending.is_set = true;
    Some(pending.from)
}

/// Puts `later` right before `earlier` on their machine, and with it what it depends on. `None` if it depends on
/// something between them on the machine.
fn put_before(
    shop: &JobShop,
    sequence: &mut Sequence,
    kept: &Kept,
    pending: &mut Pending,
    earlier: u32,
    later: u32,
) -> Option<usize> {
    let machine = kept.machine[later as usize];
    begin_change(sequence, kept, pending, earlier, later);
    let Pending { old, stay, go, .. } = pending;
    for &operation in old.iter().rev() {
        let is_needed = operation == later || is_tied(kept, go, operation, machine, shop.behind(operation));
        if is_needed && operation != later && kept.machine[operation as usize] == machine {
            return None;
        }
        if is_needed {
            go.push(operation);
        } else {
            stay.push(operation);
        }
    }
    let changed = &mut sequence.order[pending.from..pending.to];
    let (front, back) = changed.split_at_mut(pending.go.len());
    front.copy_from_slice(&pending.go);
    front.reverse();
    back.copy_from_slice(&pending.stay);
    back.reverse();
    pending.is_set = true;
    Some(pending.from)
}

/// To one of those that go: by its own job, or on another machine than the one on which they change places.
fn is_tied(kept: &Kept, go: &[u32], operation: u32, machine: u32, of_its_job: Option<u32>) -> bool {
    go.iter().any(|&gone| {
        let on = kept.machine[gone as usize];
        (on == kept.machine[operation as usize] && on != machine) || of_its_job == Some(gone)
    })
}

fn begin_change(sequence: &Sequence, kept: &Kept, pending: &mut Pending, earlier: u32, later: u32) {
    pending.from = kept.place[earlier as usize] as usize;
    pending.to = kept.place[later as usize] as usize + 1;
    pending.old.clear();
    pending
        .old
        .extend_from_slice(&sequence.order[pending.from..pending.to]);
    pending.stay.clear();
    pending.go.clear();
}

/// Takes an operation to another machine or another place in the order between its neighbours in the job; a critical one
/// where there is one.
fn go_elsewhere(
    shop: &JobShop,
    sequence: &mut Sequence,
    kept: &Kept,
    pending: &mut Pending,
    dice: &mut Dice,
) -> usize {
    let critical = pending.path[dice.below(pending.path.len())];
    let ways = shop.ways[critical as usize].len();
    let operation = if ways > 1 {
        critical
    } else {
        shop.choosable[dice.below(shop.choosable.len())]
    };
    let ways = shop.ways[operation as usize].len();
    let choice = &mut sequence.choice[operation as usize];
    let step = 1 + dice.below(ways - 1);
    *choice = u16::try_from((usize::from(*choice) + step) % ways).unwrap_or(0);
    let place = |operation: u32| kept.place[operation as usize] as usize;
    let from = place(operation);
    let low = shop.before(operation).map_or(0, |before| place(before) + 1);
    let high = shop.behind(operation).map_or(sequence.order.len(), place);
    let to = low + dice.below(high - low);
    (pending.from, pending.to) = (from.min(to), from.max(to) + 1);
    pending.old.clear();
    pending
        .old
        .extend_from_slice(&sequence.order[pending.from..pending.to]);
    pending.new_way = Some(operation);
    pending.is_set = true;
    if to < from {
        sequence.order[to..=from].rotate_right(1);
    } else {
        sequence.order[from..=to].rotate_left(1);
    }
    from.min(to)
}
