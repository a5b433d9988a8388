//! Counts that were wrong: the difference goes from pile to pile.

use super::Job;
use crate::floor::Count;

impl Job {
    /// Pieces that were taken off and counted as `was` are counted as `now`.
    pub fn recount(&mut self, was: &Count, now: &Count) {
        let Some(index) = self.index(was.operation) else {
            return;
        };
        let at = &mut self.operations[index];
        at.good = changed(at.good, was.good, now.good);
        at.scrapped = changed(at.scrapped, was.scrapped, now.scrapped);
        at.inspection = changed(at.inspection, was.to_inspection, now.to_inspection);
        at.rework = changed(at.rework, was.to_rework, now.to_rework);
        if was.rework {
            at.rework = changed(at.rework, was.uncut, now.uncut);
        }
        if let Some(next) = self.operations.get_mut(index + 1) {
            next.came = changed(next.came, was.good, now.good);
        }
    }
}

/// By as much as the second became the third.
pub(crate) const fn changed(sum: u32, was: u32, now: u32) -> u32 {
    if now >= was {
        sum.saturating_add(now - was)
    } else {
        sum.saturating_sub(was - now)
    }
}
