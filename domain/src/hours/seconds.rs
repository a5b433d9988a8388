//! Whole seconds out of microseconds, so that each row adds up and rows add up to their total.
//!
//! Every edge of a row is rounded to the nearest second, as an instant: rows that tile a window then tile the rounded
//! window, whatever their edges. Within a row, in cycle (the figure that is being proved) is rounded to the nearest
//! second; the others share what is left by largest remainder, ties to the category of higher precedence. Only a
//! category with a broken second is ever given one more, so none appears out of nothing.

use super::category::{ByCategory, Category};
use crate::time::{US_PER_SECOND, Window};

/// To the nearest, halves up, of negative numbers too, so that differences of rounded edges are consistent.
pub const fn rounded_s(us: i64) -> i64 {
    us.saturating_add(US_PER_SECOND / 2).div_euclid(US_PER_SECOND)
}

/// The row's length between its rounded edges.
pub(super) const fn window_s(window: Window) -> i64 {
    if window.is_empty() {
        0
    } else {
        rounded_s(window.to.us()) - rounded_s(window.from.us())
    }
}

/// `us` must add up to the window's microseconds.
pub(super) fn by_category_s(us: &ByCategory, window_s: i64) -> ByCategory {
    let (in_cycle, other) = (us.in_cycle(), &us.0[IN_CYCLE..]);
    let floor_s: i64 = other.iter().map(|us| us / US_PER_SECOND).sum();
    let ceiling_s: i64 = other
        .iter()
        .map(|us| (us + US_PER_SECOND - 1) / US_PER_SECOND)
        .sum();
    // Only where a row's edges are broken seconds can the nearest be out of reach; then the next best is taken.
    let in_cycle_s = rounded_s(in_cycle).clamp((window_s - ceiling_s).max(0), window_s - floor_s);
    let attended_s = if us[Category::InCycleUnattended] == 0 {
        in_cycle_s
    } else {
        rounded_s(us[Category::InCycleAttended]).min(in_cycle_s)
    };
    let mut seconds = ByCategory(us.0.map(|us| us / US_PER_SECOND));
    seconds[Category::InCycleAttended] = attended_s;
    seconds[Category::InCycleUnattended] = in_cycle_s - attended_s;
    let mut by_remainder: Vec<_> = (IN_CYCLE..us.0.len()).collect();
    by_remainder.sort_by_key(|&category| std::cmp::Reverse(us.0[category] % US_PER_SECOND));
    let missing = usize::try_from(window_s - seconds.sum()).unwrap_or(0);
    for category in by_remainder.into_iter().take(missing) {
        seconds.0[category] += 1;
    }
    seconds
}

/// Makes `total_s` whole seconds of microseconds by largest remainder, ties to the first.
pub(super) fn shared_s(us: &mut [i64], total_s: i64) {
    let mut by_remainder: Vec<_> = (0..us.len()).filter(|&part| us[part] > 0).collect();
    by_remainder.sort_by_key(|&part| std::cmp::Reverse(us[part] % US_PER_SECOND));
    for part in &mut *us {
        *part /= US_PER_SECOND;
    }
    let missing = total_s - us.iter().sum::<i64>();
    let step = missing.signum();
    // The total was rounded by itself, so it may also be less than the whole seconds of its parts.
    let in_turn: Vec<_> = if missing < 0 {
        by_remainder
            .into_iter()
            .rev()
            .filter(|&part| us[part] > 0)
            .collect()
    } else {
        by_remainder
    };
    let times = usize::try_from(missing.unsigned_abs()).unwrap_or(0);
    for part in in_turn.into_iter().cycle().take(times) {
        us[part] += step;
    }
}

/// The first two categories are in cycle.
const IN_CYCLE: usize = 2;
