//! A pallet holds one load from clamping it to taking it off, and one copy of a fixture; a copy is on one pallet.

use super::case::{Case, named, starts_at};
use crate::cell::CellKind;
use crate::floor::{can_carry, work};
use crate::ids::{FixtureCopyId, PalletId};
use crate::plan::model::LoadKey;
use crate::plan::schedule::ScheduledLoad;
use crate::time::Timestamp;
use std::collections::BTreeMap;

pub(super) fn check(case: &mut Case<'_>) {
    standing_loads_stay(case);
    for loads in case.by_pallet().values() {
        for pair in loads.windows(2) {
            let free_at = pair[0].unload.map(|unload| unload.to);
            let next = starts_at(pair[1], case.schedule.from);
            case.unless(
                free_at.is_some_and(|free_at| free_at <= next),
                "one-load-at-a-time",
                || {
                    format!(
                        "{} begins at {next}, its pallet is free at {free_at:?}",
                        named(pair[1].key)
                    )
                },
            );
        }
        for load in loads {
            in_order(case, load);
        }
    }
    fixtures(case);
    full_cells(case);
}

/// Every load that is clamped now is in the schedule, on its pallet and as it is, or left out with a reason.
fn standing_loads_stay(case: &mut Case<'_>) {
    let standing: Vec<_> = case
        .shop
        .pallets
        .values()
        .filter_map(|pallet| Some((pallet.id, pallet.load.as_ref()?, pallet.setup.as_ref()?.copy)))
        .collect();
    for (pallet, load, copy) in standing {
        let key = LoadKey::Standing(load.id);
        let planned: Vec<_> = case.schedule.loads.iter().filter(|one| one.key == key).collect();
        let left_out = case.schedule.left_out.iter().filter(|one| one.key == key).count();
        case.unless(planned.len() + left_out == 1, "standing-once", || named(key));
        for one in planned {
            let is_same = one.pallet == pallet && one.clamped == load.clamped && one.copy == Some(copy);
            case.unless(
                is_same && one.mount.is_none() && one.load.is_none(),
                "standing-stays",
                || named(key),
            );
        }
    }
}

/// Mounted, clamped, brought to the spindle, cut, judged, taken off.
fn in_order(case: &mut Case<'_>, load: &ScheduledLoad) {
    let exchange_s = case.exchange_s(load.cell);
    let mut at = case.schedule.from;
    let mut next =
        |case: &mut Case<'_>, window: Option<crate::time::Window>, gap_s: i64, what: &'static str| {
            if let Some(window) = window {
                case.unless(window.from >= at.plus_s(gap_s), "in-order", || {
                    format!(
                        "{}: {what} at {}, not before {}",
                        named(load.key),
                        window.from,
                        at.plus_s(gap_s)
                    )
                });
                at = window.to;
            }
        };
    next(case, load.mount, 0, "mounted");
    next(case, load.load, 0, "clamped");
    if !case.is_running(load) {
        let gap_s = if load.load.is_some() { exchange_s } else { 0 };
        next(case, load.run, gap_s, "cut");
    }
    let cut = load.run.map(|run| run.to);
    if let (Some(inspection), Some(cut)) = (load.inspection, cut) {
        case.unless(inspection.from >= cut, "judged-after-run", || named(load.key));
    }
    let Some(unload) = load.unload else {
        return case.fault("taken-off", named(load.key));
    };
    let out_at = cut.map(|cut| cut.plus_s(exchange_s));
    let judged = load.inspection.map(|inspection| inspection.to);
    let earliest = out_at.max(judged).unwrap_or(case.schedule.from);
    case.unless(unload.from >= earliest, "out-of-the-spindle", || {
        format!(
            "{} comes off at {}, not before {earliest}",
            named(load.key),
            unload.from
        )
    });
    if let LoadKey::ToForm { .. } = load.key {
        case.unless(
            load.load.is_some() && load.run.is_some(),
            "clamped-and-cut",
            || named(load.key),
        );
    }
}

/// In the order of time: what is mounted when, and that it was free.
fn fixtures(case: &mut Case<'_>) {
    let mut on: BTreeMap<PalletId, FixtureCopyId> = case
        .shop
        .pallets
        .values()
        .filter_map(|pallet| Some((pallet.id, pallet.setup.as_ref()?.copy)))
        .collect();
    let mut busy_until: BTreeMap<PalletId, Timestamp> = BTreeMap::new();
    let mut loads: Vec<_> = case.schedule.loads.iter().collect();
    loads.sort_by_key(|load| (starts_at(load, case.schedule.from), load.load.is_some()));
    for load in loads {
        let Some(copy) = load.copy else {
            case.fault("fixture-on", named(load.key));
            continue;
        };
        let from = starts_at(load, case.schedule.from);
        let elsewhere: Vec<_> = on
            .iter()
            .filter(|(pallet, other)| **other == copy && **pallet != load.pallet)
            .map(|(pallet, _)| *pallet)
            .collect();
        if load.mount.is_some() {
            for pallet in elsewhere {
                let is_free = busy_until.get(&pallet).is_none_or(|until| *until <= from);
                case.unless(is_free, "fixture-exists-once", || named(load.key));
                on.remove(&pallet);
            }
            on.insert(load.pallet, copy);
        } else {
            case.unless(on.get(&load.pallet) == Some(&copy), "fixture-on", || {
                format!("{} is clamped where its fixture is not", named(load.key))
            });
        }
        busy_until.insert(
            load.pallet,
            load.unload.map_or(Timestamp::MAX, |unload| unload.to),
        );
        fits(case, load, copy);
    }
}

fn fits(case: &mut Case<'_>, load: &ScheduledLoad, copy: FixtureCopyId) {
    let fixture = load.fixture.and_then(|fixture| case.shop.fixtures.get(&fixture));
    let pallet = case.shop.pallets.get(&load.pallet);
    let (Some(fixture), Some(pallet)) = (fixture, pallet) else {
        return case.fault("fixture-known", named(load.key));
    };
    case.unless(fixture.copy(copy).is_some(), "fixture-known", || named(load.key));
    case.unless(can_carry(pallet, fixture), "fixture-fits-pallet", || {
        named(load.key)
    });
    if let LoadKey::Standing(_) = load.key {
        return;
    }
    let pieces: u32 = load.clamped.iter().map(|one| one.pieces).sum();
    case.unless(pieces <= fixture.facts.nests, "nests", || named(load.key));
    for one in &load.clamped {
        let machining = work::machining(case.shop, one.job, one.operation);
        let holds = machining.is_some_and(|machining| {
            machining.fixtures.contains(&fixture.id) && one.pieces <= machining.pieces_per_load
        });
        case.unless(holds, "fixture-holds", || named(load.key));
    }
}

/// With more pallets than places beside the spindles, a pallet comes out of a spindle only against another: by the exchange
/// that brings the next load, or by one of its own, for which the machine has to have time.
fn full_cells(case: &mut Case<'_>) {
    for loads in case.by_machine().values() {
        for (index, load) in loads.iter().enumerate() {
            let (Some(run), Some(unload)) = (load.run, load.unload) else {
                continue;
            };
            let Some(next) = loads.get(index + 1).and_then(|next| next.run) else {
                continue;
            };
            let exchange_s = case.exchange_s(load.cell);
            let by_next = unload.from >= next.from;
            let by_its_own = next.from.plus_s(-exchange_s) >= run.to.plus_s(exchange_s);
            let free = !is_full(case, load) || by_next || by_its_own;
            case.unless(free, "places", || {
                format!("{} leaves its spindle, and no place is free", named(load.key))
            });
        }
    }
}

fn is_full(case: &Case<'_>, load: &ScheduledLoad) -> bool {
    let of_cell = case
        .shop
        .pallets
        .values()
        .filter(|pallet| pallet.cell == load.cell);
    match case.cell(load).map(|cell| cell.kind) {
        Some(CellKind::Pool {
            load_stations,
            stands,
            ..
        }) => of_cell.count() > load_stations as usize + stands as usize,
        _ => false,
    }
}
