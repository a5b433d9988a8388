//! Who and what works in stretches, one thing at a time: people, load stations, the inspector. Work is put into the first
//! gap that takes it whole.

use crate::plan::model::{Stretch, Stretches};

const NONE: u32 = u32::MAX;

#[derive(Clone, Copy, Debug)]
struct Busy {
    from: i64,
    to: i64,
    next: u32,
}

/// Several of a kind side by side, each with its own stretches. The stretches stand in the model; this is what is taken
/// of them.
#[derive(Clone, Debug, Default)]
pub struct Hands {
    /// By one of them: where its stretches begin in `heads`.
    first_head: Vec<usize>,
    heads: Vec<u32>,
    busy: Vec<Busy>,
    /// What is taken before a schedule is built.
    heads_before: Vec<u32>,
    busy_before: usize,
    /// By one of them: before this stretch there is no gap that the shortest work fits into.
    first_open: Vec<usize>,
    shortest_s: i64,
}

/// A gap that was found.
#[derive(Clone, Copy, Debug)]
pub struct Gap {
    pub from: i64,
    pub one: usize,
    stretch: usize,
}

impl Hands {
    /// No work will be shorter than `shortest_s`.
    pub fn new<'a>(all: impl Iterator<Item = &'a Stretches>, shortest_s: i64) -> Self {
        let mut hands = Self {
            shortest_s,
            ..Self::default()
        };
        for stretches in all {
            hands.first_head.push(hands.heads.len());
            hands.first_open.push(0);
            let heads = hands.heads.len() + stretches.as_slice().len();
            hands.heads.resize(heads, NONE);
        }
        hands.heads_before.clone_from(&hands.heads);
        hands
    }

    /// What is taken now is taken in every schedule.
    pub fn keep(&mut self) {
        self.heads_before.clone_from(&self.heads);
        self.busy_before = self.busy.len();
    }

    /// As it was when [`Hands::keep`] was last called; nothing that was kept may have been changed since.
    pub fn reset(&mut self, kept: &Self) {
        self.heads.copy_from_slice(&kept.heads_before);
        self.first_open.fill(0);
        self.busy.clear();
        self.busy.extend_from_slice(&kept.busy[..kept.busy_before]);
    }

    /// All that is taken, as another one has it.
    pub fn copy_from(&mut self, other: &Self) {
        self.heads.copy_from_slice(&other.heads);
        self.first_open.copy_from_slice(&other.first_open);
        self.busy.clone_from(&other.busy);
    }

    /// The first gap of one of them from `from` on.
    pub fn fit(&self, one: usize, stretches: &Stretches, from: i64, length_s: i64) -> Option<Gap> {
        let all = stretches.as_slice();
        let mut index = stretches.first_after(from).max(self.first_open[one]);
        while let Some(stretch) = all.get(index) {
            if let Some(from) = self.fit_in(self.first_head[one] + index, *stretch, from, length_s) {
                return Some(Gap {
                    from,
                    one,
                    stretch: index,
                });
            }
            index += 1;
        }
        None
    }

    fn fit_in(&self, head: usize, stretch: Stretch, from: i64, length_s: i64) -> Option<i64> {
        let mut from = from.max(stretch.from);
        let mut next = self.heads[head];
        while next != NONE {
            let busy = self.busy[next as usize];
            if from + length_s <= busy.from {
                break;
            }
            from = from.max(busy.to);
            next = busy.next;
        }
        (from + length_s <= stretch.to).then_some(from)
    }

    /// Takes a gap. Work that follows on other work without a pause becomes one with it.
    pub fn take(&mut self, gap: Gap, stretches: &Stretches, length_s: i64) {
        if length_s == 0 {
            return;
        }
        self.put(gap, length_s);
        let all = stretches.as_slice();
        while self.is_full(gap.one, all, self.first_open[gap.one]) {
            self.first_open[gap.one] += 1;
        }
    }

    fn is_full(&self, one: usize, all: &[Stretch], index: usize) -> bool {
        let Some(stretch) = all.get(index) else {
            return false;
        };
        let head = self.heads[self.first_head[one] + index];
        if head == NONE {
            return false;
        }
        let busy = self.busy[head as usize];
        busy.next == NONE
            && busy.from - stretch.from < self.shortest_s
            && stretch.to - busy.to < self.shortest_s
    }

    fn put(&mut self, gap: Gap, length_s: i64) {
        let head = self.first_head[gap.one] + gap.stretch;
        let (from, to) = (gap.from, gap.from + length_s);
        let (mut before, mut next) = (NONE, self.heads[head]);
        while next != NONE && self.busy[next as usize].from < from {
            before = next;
            next = self.busy[next as usize].next;
        }
        let follows = before != NONE && self.busy[before as usize].to == from;
        let is_followed = next != NONE && self.busy[next as usize].from == to;
        match (follows, is_followed) {
            (true, true) => {
                let later = self.busy[next as usize];
                let earlier = &mut self.busy[before as usize];
                (earlier.to, earlier.next) = (later.to, later.next);
            }
            (true, false) => self.busy[before as usize].to = to,
            (false, true) => self.busy[next as usize].from = from,
            (false, false) => {
                let new = u32::try_from(self.busy.len()).unwrap_or(NONE);
                self.busy.push(Busy { from, to, next });
                match before {
                    NONE => self.heads[head] = new,
                    before => self.busy[before as usize].next = new,
                }
            }
        }
    }

    /// Something that is being done now, as far as it lies in the first stretch.
    pub fn is_at_it_until(&mut self, one: usize, stretches: &Stretches, until: i64) {
        if let Some(stretch) = stretches.as_slice().first().filter(|stretch| stretch.from == 0) {
            let gap = Gap {
                from: 0,
                one,
                stretch: 0,
            };
            self.take(gap, stretches, until.min(stretch.to));
        }
    }
}
