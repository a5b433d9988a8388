//! How far a line is.

use super::{Line, LineState};
use crate::job::Job;
use std::ops::RangeInclusive;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Progress {
    pub is_started: bool,
    /// Good at the last operation.
    pub made: u32,
    pub shipped: u32,
    /// Nothing of a closed line.
    pub still_to_make: u32,
    /// Finished pieces that may not be shipped on this line, for a person to decide before packing.
    pub surplus: u32,
    /// Blanks that are lacking even if all that is in work comes good.
    pub material_shortfall: u32,
    pub may_ship_least: u32,
    pub may_ship_most: u32,
}

impl Progress {
    /// `jobs`: the lots of the line.
    pub fn of(line: &Line, jobs: &[&Job], may_ship: &RangeInclusive<u32>) -> Self {
        let sum = |count: fn(&Job) -> u32| jobs.iter().map(|job| count(job)).sum::<u32>();
        let made = sum(Job::made);
        let (still_to_make, material_shortfall) = match line.state {
            LineState::Entered => (line.quantity, 0),
            LineState::Released { .. } => (sum(Job::still_to_make), sum(Job::material_shortfall)),
            LineState::Complete { .. } | LineState::Cancelled { .. } => (0, 0),
        };
        Self {
            is_started: jobs.iter().any(|job| job.is_started()),
            made,
            shipped: line.shipped(),
            still_to_make,
            surplus: made.saturating_sub(*may_ship.end()),
            material_shortfall,
            may_ship_least: *may_ship.start(),
            may_ship_most: *may_ship.end(),
        }
    }
}
