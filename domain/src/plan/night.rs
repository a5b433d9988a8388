//! The night fill: what to clamp before the last person leaves, so that the spindles cut longest until somebody is back.

use super::check::Fault;
use super::model::{Aim, LoadKey, PlanOptions};
use super::reasons::{Reason, reasons};
use super::schedule::{Effort, Schedule, ScheduledLoad, compute};
use crate::calendar::attended;
use crate::cell::Cell;
use crate::shop::Shop;
use crate::site::Site;
use crate::time::{Timestamp, US_PER_SECOND, Window};

/// Whoever is away for less than that has gone to lunch.
const NIGHT_MIN_S: i64 = 3_600;
const DAYS_LOOKED_AT: i64 = 14;

#[derive(Clone, Debug)]
pub struct NightFill {
    /// From when the last person leaves until somebody is back.
    pub night: Window,
    /// For the load station: in the order in which they are clamped, all before the night.
    pub to_clamp: Vec<ScheduledLoad>,
    /// What is cut in the night, in the order of the runs; among it what was clamped before.
    pub cut: Vec<ScheduledLoad>,
    /// The last run of the night ends then; `None`: nothing is cut.
    pub cuts_until: Option<Timestamp>,
    pub spindle_s: i64,
    /// Loads of the cell that do not run in the night, and why not.
    pub not_cut: Vec<(LoadKey, Reason)>,
    pub schedule: Schedule,
}

/// The next time that nobody is there; `None`: somebody always is, or nobody has told of a calendar.
pub fn next_night(shop: &Shop, site: &Site, cell: &Cell, now: Timestamp) -> Option<Window> {
    let calendar = shop
        .calendar_of(cell.id)
        .filter(|calendar| !calendar.is_empty())?;
    let ahead = Window::new(now, now.plus_s(DAYS_LOOKED_AT * 86_400));
    let mut from = now;
    for stretch in attended(calendar, site.zone, ahead) {
        if stretch.from.since_us(from) >= NIGHT_MIN_S * US_PER_SECOND {
            return Some(Window::new(from, stretch.from));
        }
        from = stretch.to;
    }
    None
}

/// `None` where there is no night.
pub fn night_fill(
    shop: &Shop,
    site: &Site,
    cell: &Cell,
    options: &PlanOptions,
    now: Timestamp,
    effort: Effort<'_>,
) -> Option<Result<NightFill, Vec<Fault>>> {
    let night = next_night(shop, site, cell, now)?;
    let to = super::model::Clock::from(now).not_after(night.to);
    let options = PlanOptions {
        horizon_s: to,
        // From now on, or it would pay to let the spindle stand before the night begins.
        aim: Aim::Night { from: 0, to },
        ..options.clone()
    };
    let schedule = match compute(shop, site, &options, now, effort) {
        Ok(schedule) => schedule,
        Err(faults) => return Some(Err(faults)),
    };
    Some(Ok(fill(shop, site, cell, night, schedule)))
}

fn fill(shop: &Shop, site: &Site, cell: &Cell, night: Window, schedule: Schedule) -> NightFill {
    let why = reasons(shop, site, &schedule, night.from);
    let of_cell = schedule.loads.iter().filter(|load| load.cell == cell.id);
    let in_night = |load: &ScheduledLoad| load.run.and_then(|run| run.overlap(night));
    let mut cut: Vec<_> = of_cell
        .clone()
        .filter(|load| in_night(load).is_some())
        .cloned()
        .collect();
    cut.sort_by_key(|load| load.run);
    let mut to_clamp: Vec<_> = cut.iter().filter(|load| load.load.is_some()).cloned().collect();
    to_clamp.sort_by_key(|load| load.load);
    let spindle_us: i64 = cut.iter().filter_map(in_night).map(Window::us).sum();
    let ends = cut.iter().filter_map(|load| load.run).map(|run| run.to);
    let later = of_cell.filter(|load| load.run.is_some_and(|run| run.from >= night.to));
    let in_cell = |key: &LoadKey| match key {
        LoadKey::Standing(id) => shop
            .pallets
            .values()
            .any(|pallet| pallet.cell == cell.id && pallet.load.as_ref().is_some_and(|load| load.id == *id)),
        LoadKey::ToForm { job, operation, .. } => {
            crate::floor::work::place(shop, *job, *operation, cell.id).is_some()
        }
    };
    let left_out = schedule.left_out.iter().map(|load| load.key).filter(in_cell);
    let keys = later.map(|load| load.key).chain(left_out);
    NightFill {
        night,
        cuts_until: ends.max(),
        spindle_s: spindle_us / US_PER_SECOND,
        not_cut: keys
            .filter_map(|key| Some((key, why.get(&key)?.clone())))
            .collect(),
        to_clamp,
        cut,
        schedule,
    }
}
