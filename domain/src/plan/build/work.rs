//! What the search works in: the schedule being built, and how far the last kept one had got at some places, so that a
//! candidate that begins alike is built from there on.

use super::state::Scratch;

/// A schedule is looked at again from so many places.
const MARKS: usize = 6;
/// Fewer loads between two places cost more to copy than to place.
const LOADS_MIN: usize = 8;

#[derive(Clone, Debug)]
pub struct Work {
    pub now: Scratch,
    /// Loads from one mark to the next.
    every: usize,
    /// The marks of the sequence last kept, and how many are good.
    kept: Vec<Scratch>,
    kept_good: usize,
    /// Those of the candidate last built, from `fresh_from` on.
    fresh: Vec<Scratch>,
    fresh_from: usize,
    fresh_good: usize,
}

impl Work {
    pub(super) fn new(empty: &Scratch, tasks: usize) -> Self {
        let every = tasks.div_ceil(MARKS + 1).max(LOADS_MIN);
        let marks = tasks.saturating_sub(1) / every;
        Self {
            now: empty.clone(),
            every,
            kept: vec![empty.clone(); marks],
            kept_good: 0,
            fresh: vec![empty.clone(); marks],
            fresh_from: 0,
            fresh_good: 0,
        }
    }

    /// Goes back to the last mark before what differs: from which place on to build. 0: from the very beginning.
    pub(super) fn go_back(&mut self, unchanged: usize) -> usize {
        let mark = (unchanged / self.every).min(self.kept_good);
        (self.fresh_from, self.fresh_good) = (mark, mark);
        if mark > 0 {
            self.now.copy_from(&self.kept[mark - 1]);
        }
        mark * self.every
    }

    /// Before the load at this place is placed.
    pub(super) fn mark(&mut self, place: usize) {
        let (mark, rest) = (place / self.every, place % self.every);
        if rest == 0 && mark > self.fresh_good && mark <= self.fresh.len() {
            self.fresh[mark - 1].copy_from(&self.now);
            self.fresh_good = mark;
        }
    }

    /// What was built last is what the next candidates differ from.
    pub(super) fn keep(&mut self) {
        for mark in self.fresh_from..self.fresh_good {
            std::mem::swap(&mut self.kept[mark], &mut self.fresh[mark]);
        }
        self.kept_good = self.fresh_good;
    }
}
