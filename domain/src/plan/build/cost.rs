//! What a schedule costs: strictly one thing before the next.

use super::{Builder, Scratch};
use crate::plan::model::{Aim, JobNow, Model, REACH_S};

/// Compared from the first field to the last; less is better. What comes first depends on the aim.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Cost {
    pub first: i64,
    pub second: i64,
    /// Fixtures mounted.
    pub changes: u32,
    /// Loads that are elsewhere, or after something else, than in the last plan.
    pub moved: u32,
    /// Seconds until runs start, all together: where all else is equal, nothing waits needlessly.
    pub starts_s: i64,
}

/// A line that cannot be completed is worse than any that is late.
pub(super) const LEFT_OUT_S: i64 = 2 * REACH_S;

/// Pieces of it are wanted and can be made.
pub(super) fn counts(job: &JobNow) -> bool {
    job.wanted.min(job.in_hand) > 0
}

#[expect(
    clippy::cast_precision_loss,
    reason = "annealing compares sizes, not last digits"
)]
pub(super) fn as_f64(value: i64) -> f64 {
    value as f64
}

impl Cost {
    /// Weighted seconds of lateness.
    pub const fn tardiness(&self, aim: Aim) -> i64 {
        match aim {
            Aim::Due => self.first,
            Aim::Night { .. } => self.second,
        }
    }

    /// Spindle seconds that the horizon, or the night, has and the schedule does not use.
    pub const fn idle_s(&self, aim: Aim) -> i64 {
        match aim {
            Aim::Due => self.second,
            Aim::Night { .. } => self.first,
        }
    }

    pub(super) fn energy(&self, model: &Model) -> f64 {
        let changes_max = as_f64(i64::try_from(2 * model.loads.len() + 2).unwrap_or(i64::MAX));
        let small = (f64::from(self.changes) + f64::from(self.moved) / changes_max) / changes_max;
        match model.aim {
            Aim::Due => as_f64(self.first) + (as_f64(self.second) + small) / as_f64(capacity_s(model) + 1),
            // A second of cutting counts more than anything that can be late.
            Aim::Night { .. } => as_f64(self.first) + (1.0 - 1.0 / (1.0 + as_f64(self.second))),
        }
    }
}

/// The seconds that count as spindle time.
pub(super) const fn counted(model: &Model) -> (i64, i64) {
    match model.aim {
        Aim::Due => (0, model.horizon_s),
        Aim::Night { from, to } => (from, to),
    }
}

pub(super) fn capacity_s(model: &Model) -> i64 {
    let (from, to) = counted(model);
    (to - from) * i64::try_from(model.machines.len()).unwrap_or(i64::MAX)
}

impl Builder<'_> {
    /// Jobs whose pieces all come without a load, as from outside.
    pub(super) fn count_what_is_made(&self, scratch: &mut Scratch) {
        for job in 0..self.model.jobs.len() {
            self.job_may_be_done(scratch, job);
        }
    }

    /// Books a job's line once all that is wanted of it has come to its end.
    pub(super) fn job_may_be_done(&self, scratch: &mut Scratch, job: usize) {
        let now = &self.model.jobs[job];
        if scratch.job_done[job] || !counts(now) {
            return;
        }
        let wanted = now.wanted.min(now.in_hand);
        let Some(at) = scratch.piles.ready_at(now.done, wanted, None, 0) else {
            return;
        };
        scratch.job_done[job] = true;
        if let Some(line) = now.line {
            let done = &mut scratch.line_done[line];
            done.at = done.at.max(at);
            done.jobs_left -= 1;
            if done.jobs_left == 0 {
                let line = &self.model.lines[line];
                scratch.tardiness += late_s(line.due, done.at) * line.weight;
            }
        }
    }

    pub(super) fn cost_of(&self, scratch: &Scratch) -> Cost {
        let open = self.model.lines.iter().zip(&scratch.line_done);
        let open = open.filter(|(_, done)| done.jobs_left > 0);
        let never: i64 = open
            .map(|(line, _)| late_s(line.due, LEFT_OUT_S) * line.weight)
            .sum();
        let tardiness = scratch.tardiness + never;
        let idle_s = capacity_s(self.model) - scratch.spindle_s;
        let (first, second) = match self.model.aim {
            Aim::Due => (tardiness, idle_s),
            Aim::Night { .. } => (idle_s, tardiness),
        };
        Cost {
            first,
            second,
            changes: scratch.changes,
            moved: if self.has_last_plan {
                self.moved(scratch)
            } else {
                0
            },
            starts_s: scratch.starts_s,
        }
    }
}

fn late_s(due: Option<i64>, at: i64) -> i64 {
    due.map_or(0, |due| (at - due).max(0))
}
