//! A weighted tardiness that no schedule can undercut.
//!
//! Relaxed to the spindle alone: it begins when the first load can be clamped and never waits; a load is done when it is
//! cut and unloaded. For multipliers `0 <= m <= weight`, tardiness is at least `m * (end - due)`, and the sum of `m * end`
//! is least in the order of `m / cut` (Smith 1956). The multipliers climb by subgradients (after Potts & Van Wassenhove,
//! Operations Research 33, 1985). The other bound is every load alone in the shop; the better of the two is given.

use super::Pool;

const ROUNDS: u32 = 2_000;

#[must_use]
pub fn lower_bound(pool: &Pool) -> i64 {
    let alone: i64 = (0..pool.loads.len())
        .map(|load| alone_tardiness(pool, load))
        .sum();
    alone.max(spindle_bound(pool))
}

/// The first minute from `from` on at which the person can do so much work.
fn attended_from(pool: &Pool, from: i64, minutes: i64) -> Option<i64> {
    let begins = pool.attended.iter().map(|window| (window.0.max(from), window.1));
    begins
        .filter(|(at, end)| at + minutes <= *end)
        .map(|(at, _)| at)
        .next()
}

fn alone_tardiness(pool: &Pool, number: usize) -> i64 {
    let load = &pool.loads[number];
    let done = attended_from(pool, pool.start.max(load.release), load.setup)
        .map(|at| at + load.setup + load.cut)
        .and_then(|cut_end| attended_from(pool, cut_end, load.unload))
        .map(|at| at + load.unload);
    done.map_or(0, |done| load.weight * (done - load.due).max(0))
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    reason = "minutes and weights are small"
)]
fn spindle_bound(pool: &Pool) -> i64 {
    let clamped = pool.loads.iter().filter_map(|load| {
        let from = pool.start.max(load.release);
        attended_from(pool, from, load.setup).map(|at| at + load.setup)
    });
    let Some(begin) = clamped.min() else { return 0 };
    let loads: Vec<Row> = pool
        .loads
        .iter()
        .map(|load| Row {
            cut: load.cut.max(1) as f64,
            slack: (load.unload - load.due) as f64,
            weight: load.weight as f64,
        })
        .collect();
    let mut multipliers: Vec<f64> = loads.iter().map(|row| row.weight / 2.0).collect();
    let (mut best, mut step) = (0.0_f64, 1.0);
    let mut unimproved = 0;
    for _ in 0..ROUNDS {
        let slopes = slopes(&loads, &multipliers, begin as f64);
        let value: f64 = slopes
            .iter()
            .zip(&multipliers)
            .map(|(slope, multiplier)| slope * multiplier)
            .sum();
        unimproved = if value > best { 0 } else { unimproved + 1 };
        if unimproved == 20 {
            (step, unimproved) = (step * 0.8, 0);
        }
        best = best.max(value);
        let norm: f64 = slopes.iter().map(|slope| slope * slope).sum();
        if norm <= 0.0 {
            break;
        }
        let stride = step * (best.abs() * 0.1 + 1.0) / norm;
        for ((multiplier, slope), row) in multipliers.iter_mut().zip(&slopes).zip(&loads) {
            *multiplier = (*multiplier + stride * slope).clamp(0.0, row.weight);
        }
    }
    // A hair less than the sum, whose last digits are rounded; costs are whole numbers, so the next one up holds too.
    (best * (1.0 - 1e-9)).ceil() as i64
}

struct Row {
    cut: f64,
    /// What is added to the end of the cut: unloading, less the due date.
    slack: f64,
    weight: f64,
}

/// How late each load is when the spindle takes them by multiplier for each minute.
fn slopes(loads: &[Row], multipliers: &[f64], begin: f64) -> Vec<f64> {
    let mut order: Vec<usize> = (0..loads.len()).collect();
    order.sort_by(|&one, &other| {
        let (left, right) = (
            multipliers[one] * loads[other].cut,
            multipliers[other] * loads[one].cut,
        );
        right.total_cmp(&left)
    });
    let mut slopes = vec![0.0; loads.len()];
    let mut now = begin;
    for load in order {
        now += loads[load].cut;
        slopes[load] = now + loads[load].slack;
    }
    slopes
}
