//! From a sequence to a schedule: each operation in the order begins as soon as its job and its machine are free. The
//! order names jobs: an operation that stands before one of its own job is done in the job's order all the same.

use super::critical::Pending;
use super::{JobShop, Timed, Way};
use crate::plan::search::{Candidate, Sequence};

/// No operation.
pub const NONE: u32 = u32::MAX;

pub struct Scratch {
    /// Of the schedule last kept, by operation.
    pub kept: Kept,
    /// The schedule being built, of which only ends are needed.
    pub ends: Vec<i64>,
    pub machine_end: Vec<i64>,
    job_end: Vec<i64>,
    next: Vec<u32>,
    last_on: Vec<u32>,
    /// The sequence last built, for `keep`.
    order: Vec<u32>,
    choice: Vec<u16>,
    /// The last own move, if the candidate comes from one.
    pub pending: Pending,
}

/// Places, ends, tails and neighbours of the schedule last kept.
#[derive(Default)]
pub struct Kept {
    pub place: Vec<u32>,
    pub machine: Vec<u32>,
    pub time: Vec<i64>,
    pub end: Vec<i64>,
    /// From the beginning of the operation to the end of the schedule, at least.
    pub tail: Vec<i64>,
    pub before_on_machine: Vec<u32>,
    pub behind_on_machine: Vec<u32>,
    pub makespan: i64,
}

impl Scratch {
    pub fn new(shop: &JobShop) -> Self {
        let operations = shop.operations();
        Self {
            kept: Kept {
                place: vec![0; operations],
                machine: vec![0; operations],
                time: vec![0; operations],
                end: vec![0; operations],
                tail: vec![0; operations],
                before_on_machine: vec![NONE; operations],
                behind_on_machine: vec![NONE; operations],
                makespan: 0,
            },
            ends: vec![0; operations],
            machine_end: vec![0; shop.machines],
            job_end: vec![0; shop.first_of.len() - 1],
            next: shop.first_of.clone(),
            last_on: vec![NONE; shop.machines],
            order: vec![0; operations],
            choice: vec![0; operations],
            pending: Pending::default(),
        }
    }

    pub fn cost(&mut self, shop: &JobShop, candidate: Candidate<'_>) -> Option<i64> {
        let mut known = None;
        if self.pending.is_set {
            self.pending.is_set = false;
            let least = self.through_changed_range(shop, candidate);
            if exceeds(least, candidate.limit) {
                return None;
            }
            // Paths that avoid the range are no longer than the kept schedule.
            known = (least >= self.kept.makespan).then_some(least);
        }
        let cost = match known {
            Some(cost) => cost,
            None => self.whole(shop, candidate.order, candidate.choice, candidate.limit)?,
        };
        self.order.copy_from_slice(candidate.order);
        self.choice.copy_from_slice(candidate.choice);
        Some(cost)
    }

    /// The longest path through the places that the own move has changed: what lies behind them has its tails still.
    fn through_changed_range(&mut self, shop: &JobShop, candidate: Candidate<'_>) -> i64 {
        let Self {
            kept,
            ends,
            machine_end,
            pending,
            ..
        } = self;
        let (from, to) = (to_place(pending.from), to_place(pending.to));
        let new_way = pending.new_way.map(|operation| {
            (
                operation,
                shop.way(operation, candidate.choice[operation as usize]),
            )
        });
        let way = |operation: u32| match new_way {
            Some((changed, way)) if changed == operation => (way.machine, way.time),
            _ => (
                kept.machine[operation as usize] as usize,
                kept.time[operation as usize],
            ),
        };
        let behind_new_machine = new_way.map_or(NONE, |(_, way)| {
            let (before, behind) = neighbours_on(way.machine, kept, pending, candidate.order);
            machine_end[way.machine] = before.map_or(0, |before| kept.end[before as usize]);
            behind.unwrap_or(NONE)
        });
        for &operation in pending.old.iter().rev() {
            // The first operation of each machine within the range is looked at last.
            let before = kept.before_on_machine[operation as usize];
            let machine = kept.machine[operation as usize] as usize;
            machine_end[machine] = if before == NONE {
                0
            } else {
                kept.end[before as usize]
            };
        }
        let range = &candidate.order[pending.from..pending.to];
        for &operation in range {
            let (machine, time) = way(operation);
            let job_end = shop.before(operation).map_or(0, |before| {
                let within = kept.place[before as usize] >= from;
                if within {
                    ends[before as usize]
                } else {
                    kept.end[before as usize]
                }
            });
            let end = job_end.max(machine_end[machine]) + time;
            ends[operation as usize] = end;
            machine_end[machine] = end;
        }
        let tail_behind = |next: u32| {
            let is_behind = next != NONE && kept.place[next as usize] >= to;
            if is_behind { kept.tail[next as usize] } else { 0 }
        };
        let mut least = 0;
        for &operation in range {
            let in_job = tail_behind(shop.behind(operation).unwrap_or(NONE));
            // Whoever is last on the machine within the range now, the operation behind the range is the same.
            let on_machine = tail_behind(kept.behind_on_machine[operation as usize]);
            let last_end = machine_end[kept.machine[operation as usize] as usize];
            least = least
                .max(ends[operation as usize] + in_job)
                .max(last_end + on_machine);
        }
        let on_new_machine = new_way.map_or(0, |(_, way)| {
            machine_end[way.machine] + tail_behind(behind_new_machine)
        });
        least.max(on_new_machine)
    }

    fn whole(&mut self, shop: &JobShop, order: &[u32], choice: &[u16], limit: f64) -> Option<i64> {
        self.machine_end.fill(0);
        self.job_end.fill(0);
        self.next.copy_from_slice(&shop.first_of);
        let mut makespan = 0;
        for &named in order {
            let job = shop.job_of[named as usize] as usize;
            let operation = self.next[job];
            self.next[job] += 1;
            let way = shop.way(operation, choice[operation as usize]);
            let end = self.job_end[job].max(self.machine_end[way.machine]) + way.time;
            self.job_end[job] = end;
            self.machine_end[way.machine] = end;
            self.ends[operation as usize] = end;
            makespan = makespan.max(end);
        }
        (!exceeds(makespan, limit)).then_some(makespan)
    }

    /// The candidate last built becomes the kept schedule.
    pub fn keep(&mut self, shop: &JobShop) {
        let Self {
            kept,
            order,
            choice,
            machine_end,
            job_end,
            next,
            last_on,
            ..
        } = self;
        machine_end.fill(0);
        job_end.fill(0);
        next.copy_from_slice(&shop.first_of);
        last_on.fill(NONE);
        kept.makespan = 0;
        for (place, named) in (0..).zip(order.iter_mut()) {
            let job = shop.job_of[*named as usize] as usize;
            let operation = next[job];
            next[job] += 1;
            *named = operation;
            let at = operation as usize;
            let way = shop.way(operation, choice[at]);
            let end = job_end[job].max(machine_end[way.machine]) + way.time;
            job_end[job] = end;
            machine_end[way.machine] = end;
            kept.place[at] = place;
            kept.machine[at] = u32::try_from(way.machine).unwrap_or(NONE);
            kept.time[at] = way.time;
            kept.end[at] = end;
            kept.makespan = kept.makespan.max(end);
            let before = last_on[way.machine];
            kept.before_on_machine[at] = before;
            kept.behind_on_machine[at] = NONE;
            if before != NONE {
                kept.behind_on_machine[before as usize] = operation;
            }
            last_on[way.machine] = operation;
        }
        for &operation in order.iter().rev() {
            let at = operation as usize;
            let behind = kept.behind_on_machine[at];
            let on_machine = if behind == NONE {
                0
            } else {
                kept.tail[behind as usize]
            };
            let in_job = shop
                .behind(operation)
                .map_or(0, |behind| kept.tail[behind as usize]);
            kept.tail[at] = kept.time[at] + on_machine.max(in_job);
        }
    }

    pub fn timed(&mut self, shop: &JobShop, order: &[u32], choice: &[u16]) -> Vec<Timed> {
        self.order.copy_from_slice(order);
        self.choice.copy_from_slice(choice);
        self.keep(shop);
        let operations = (0..).take(shop.operations());
        let timed = operations.map(|operation: u32| {
            let way = shop.way(operation, choice[operation as usize]);
            let end = self.kept.end[operation as usize];
            Timed {
                machine: way.machine,
                start: end - way.time,
                end,
            }
        });
        timed.collect()
    }
}

/// Who stands on a machine next before and behind the changed range, where the range may have nobody on it.
fn neighbours_on(
    machine: usize,
    kept: &Kept,
    pending: &Pending,
    order: &[u32],
) -> (Option<u32>, Option<u32>) {
    let on_it = |operation: &&u32| kept.machine[**operation as usize] as usize == machine;
    let before = order[..pending.from].iter().rev().find(on_it);
    let behind = order[pending.to..].iter().find(on_it);
    (before.copied(), behind.copied())
}

pub fn to_place(index: usize) -> u32 {
    u32::try_from(index).unwrap_or(NONE)
}

#[expect(clippy::cast_precision_loss, reason = "times stay far below 2^53")]
fn exceeds(cost: i64, limit: f64) -> bool {
    cost as f64 > limit
}

/// The operation that a dispatch rule takes next.
struct Next {
    /// When it begins, and how much work its job has left, the most first.
    rank: (i64, i64),
    job: usize,
    operation: u32,
    choice: u16,
    way: Way,
}

/// Always the operation that can begin first, of those the one whose job has most work left.
pub fn most_work_left(shop: &JobShop, soonest_machine: bool) -> Sequence {
    let shortest: Vec<i64> = shop
        .ways
        .iter()
        .map(|ways| ways.iter().map(|way| way.time).min().unwrap_or(0))
        .collect();
    let mut sequence = Sequence {
        order: Vec::with_capacity(shop.operations()),
        choice: vec![0; shop.operations()],
    };
    let mut next = shop.first_of[..shop.first_of.len() - 1].to_vec();
    let mut job_end = vec![0; next.len()];
    let mut machine_end = vec![0; shop.machines];
    while sequence.order.len() < shop.operations() {
        let mut best: Option<Next> = None;
        for (job, &operation) in next.iter().enumerate() {
            if operation == shop.first_of[job + 1] {
                continue;
            }
            let ways = (0_u16..).zip(&shop.ways[operation as usize]);
            let begin = |way: &Way| machine_end[way.machine].max(job_end[job]);
            let chosen = if soonest_machine {
                ways.min_by_key(|(_, way)| begin(way) + way.time)
            } else {
                ways.min_by_key(|(_, way)| way.time)
            };
            let Some((choice, &way)) = chosen else {
                continue;
            };
            let left: i64 = shortest[operation as usize..shop.first_of[job + 1] as usize]
                .iter()
                .sum();
            let rank = (begin(&way), -left);
            if best.as_ref().is_none_or(|known| rank < known.rank) {
                best = Some(Next {
                    rank,
                    job,
                    operation,
                    choice,
                    way,
                });
            }
        }
        let Some(best) = best else { break };
        job_end[best.job] = best.rank.0 + best.way.time;
        machine_end[best.way.machine] = job_end[best.job];
        next[best.job] += 1;
        sequence.order.push(best.operation);
        sequence.choice[best.operation as usize] = best.choice;
    }
    sequence
}
