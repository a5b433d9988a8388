//! A weighted tardiness that no schedule can undercut.
//!
//! Relaxed to the spindle alone: it begins when the first load can be clamped; while nobody is there it cuts no more than
//! what the pallets and fixtures can hold, which were clamped before; otherwise it never waits. Time is counted as the most
//! that the spindle can have cut until then, due dates too; being late by that count is never more than being late by the
//! clock. For multipliers `0 <= m <= weight`, tardiness is at least `m * (end - due)`, and the sum of `m * end`
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
    let by_night = most_by_night(pool);
    let loads: Vec<Row> = pool
        .loads
        .iter()
        .map(|load| Row {
            cut: load.cut.max(1) as f64,
            slack: -(most_cut_until(pool, begin, by_night, load.due - load.unload) as f64),
            weight: load.weight as f64,
        })
        .collect();
    let mut multipliers: Vec<f64> = loads.iter().map(|row| row.weight / 2.0).collect();
    let goal = by_due_date(&loads);
    let (mut best, mut step) = (0.0_f64, 1.0);
    let mut unimproved = 0;
    for _ in 0..ROUNDS {
        let slopes = slopes(&loads, &multipliers);
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
        let stride = step * (goal - value).max(1.0) / norm;
        for ((multiplier, slope), row) in multipliers.iter_mut().zip(&slopes).zip(&loads) {
            *multiplier = (*multiplier + stride * slope).clamp(0.0, row.weight);
        }
    }
    // A hair less than the sum, whose last digits are rounded; costs are whole numbers, so the next one up holds too.
    (best * (1.0 - 1e-9)).ceil() as i64
}

/// Minutes that the spindle can cut without anybody there: the longest cuts that pallets and fixtures can hold at once.
fn most_by_night(pool: &Pool) -> i64 {
    let mut held = Vec::new();
    for (kind, &copies) in pool.copies.iter().enumerate() {
        let of_kind = pool.loads.iter().filter(|load| load.kind == kind);
        let mut cuts: Vec<i64> = of_kind.map(|load| load.cut).collect();
        cuts.sort_unstable_by(|one, other| other.cmp(one));
        held.extend(cuts.into_iter().take(copies));
    }
    held.sort_unstable_by(|one, other| other.cmp(one));
    held.into_iter().take(pool.pallets).sum()
}

/// The most that the spindle can have cut from its first minute until another.
fn most_cut_until(pool: &Pool, begin: i64, by_night: i64, until: i64) -> i64 {
    let (mut most, mut now) = (0, begin);
    for &(from, to) in &pool.attended {
        most += (from.min(until) - now).clamp(0, by_night);
        now = now.max(from);
        most += (to.min(until) - now).max(0);
        now = now.max(to);
    }
    most + (until - now).clamp(0, by_night)
}

struct Row {
    cut: f64,
    /// What is added to the end of the cut: less the latest end of a cut that is not late.
    slack: f64,
    weight: f64,
}

/// What the relaxed problem costs in the order of due dates: the bound cannot climb above, and steps aim there.
fn by_due_date(loads: &[Row]) -> f64 {
    let mut order: Vec<&Row> = loads.iter().collect();
    order.sort_by(|one, other| other.slack.total_cmp(&one.slack));
    let (mut now, mut tardiness) = (0.0, 0.0);
    for load in order {
        now += load.cut;
        tardiness += load.weight * (now + load.slack).max(0.0);
    }
    tardiness
}

/// How late each load is when the spindle takes them by multiplier for each minute.
fn slopes(loads: &[Row], multipliers: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..loads.len()).collect();
    order.sort_by(|&one, &other| {
        let (left, right) = (
            multipliers[one] * loads[other].cut,
            multipliers[other] * loads[one].cut,
        );
        right.total_cmp(&left)
    });
    let mut slopes = vec![0.0; loads.len()];
    let mut now = 0.0;
    for load in order {
        now += loads[load].cut;
        slopes[load] = now + loads[load].slack;
    }
    slopes
}
