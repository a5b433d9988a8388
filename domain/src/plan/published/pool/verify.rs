//! Judges any schedule of a pool, whoever made it. Written from the problem's text, without a line of the builder's.

use super::{Pool, Times};
use thiserror::Error;

/// Which rule a schedule breaks, and at which load.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
pub enum Broken {
    #[error("the schedule has {0} loads, the pool has {1}")]
    Count(usize, usize),
    #[error("load {0} is clamped before it may be")]
    Early(usize),
    #[error("load {0} is cut before it is clamped, or unloaded before it is cut")]
    Order(usize),
    #[error("load {0} is clamped or unloaded while nobody is there")]
    Unattended(usize),
    #[error("the person does two things at once at minute {0}")]
    Person(i64),
    #[error("the spindle cuts two loads at once at minute {0}")]
    Spindle(i64),
    #[error("more loads than pallets at minute {0}")]
    Pallets(i64),
    #[error("more loads than fixtures of kind {0} at minute {1}")]
    Fixtures(usize, i64),
}

/// The weighted tardiness of a schedule that keeps every rule.
pub fn verify(pool: &Pool, times: &[Times]) -> Result<i64, Broken> {
    if times.len() != pool.loads.len() {
        return Err(Broken::Count(times.len(), pool.loads.len()));
    }
    let (mut person, mut spindle) = (Vec::new(), Vec::new());
    let mut tardiness = 0;
    for (number, (load, at)) in pool.loads.iter().zip(times).enumerate() {
        let clamping = (at.setup_start, at.setup_start + load.setup);
        let cutting = (at.cut_start, at.cut_start + load.cut);
        let unloading = (at.unload_start, at.unload_start + load.unload);
        if clamping.0 < pool.start.max(load.release) {
            return Err(Broken::Early(number));
        }
        if cutting.0 < clamping.1 || unloading.0 < cutting.1 {
            return Err(Broken::Order(number));
        }
        let is_attended = |work: (i64, i64)| pool.attended.iter().any(|w| w.0 <= work.0 && work.1 <= w.1);
        if !is_attended(clamping) || !is_attended(unloading) {
            return Err(Broken::Unattended(number));
        }
        person.extend([clamping, unloading]);
        spindle.push(cutting);
        tardiness += load.weight * (unloading.1 - load.due).max(0);
    }
    first_overlap(person).map_or(Ok(()), |at| Err(Broken::Person(at)))?;
    first_overlap(spindle).map_or(Ok(()), |at| Err(Broken::Spindle(at)))?;
    check_pallets_and_fixtures(pool, times)?;
    Ok(tardiness)
}

fn first_overlap(mut work: Vec<(i64, i64)>) -> Option<i64> {
    work.sort_unstable();
    let pairs = work.windows(2);
    pairs
        .filter(|pair| pair[0].1 > pair[1].0)
        .map(|pair| pair[1].0)
        .next()
}

/// Counts at each beginning who holds a pallet then; an end at the same minute gives it back first.
fn check_pallets_and_fixtures(pool: &Pool, times: &[Times]) -> Result<(), Broken> {
    let held = |number: usize| {
        (
            times[number].setup_start,
            times[number].unload_start + pool.loads[number].unload,
        )
    };
    for now in times.iter().map(|at| at.setup_start) {
        let holders = (0..times.len()).filter(|&number| held(number).0 <= now && now < held(number).1);
        let kinds: Vec<usize> = holders.map(|number| pool.loads[number].kind).collect();
        if kinds.len() > pool.pallets {
            return Err(Broken::Pallets(now));
        }
        for (kind, &copies) in pool.copies.iter().enumerate() {
            if kinds.iter().filter(|&&held| held == kind).count() > copies {
                return Err(Broken::Fixtures(kind, now));
            }
        }
    }
    Ok(())
}
