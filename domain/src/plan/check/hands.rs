//! People mount, clamp and take off: in staffed time, one thing each, whole before a break, at a load station.

use super::case::{Case, named};
use crate::cell::CellKind;
use crate::floor::work;
use crate::ids::CellId;
use crate::load::Clamped;
use crate::part::Machining;
use crate::plan::schedule::ScheduledLoad;
use crate::time::{US_PER_SECOND, Window};
use std::collections::BTreeMap;

/// `None`: the people who work by the site's calendar.
type Crew = Option<CellId>;

#[derive(Clone)]
struct Work {
    cell: CellId,
    window: Window,
    what: String,
}

pub(super) fn check(case: &mut Case<'_>) {
    let mut by_crew: BTreeMap<Crew, Vec<Work>> = BTreeMap::new();
    let mut add = |case: &Case<'_>, work: Work| {
        let own = case
            .shop
            .cells
            .get(&work.cell)
            .is_some_and(|cell| cell.calendar.is_some());
        let crew = own.then_some(work.cell);
        by_crew.entry(crew).or_default().push(work);
    };
    for load in &case.schedule.loads {
        for (window, length_s, what) in lengths(case, load) {
            case.unless(window.us() == length_s * US_PER_SECOND, "handling-time", || {
                format!("{what} {} takes {length_s} s", named(load.key))
            });
            if !window.is_empty() {
                let what = format!("{what} {}", named(load.key));
                add(
                    case,
                    Work {
                        cell: load.cell,
                        window,
                        what,
                    },
                );
            }
        }
    }
    for (crew, work) in by_crew {
        in_staffed_time(case, crew, &work);
    }
}

fn lengths(case: &Case<'_>, load: &ScheduledLoad) -> Vec<(Window, i64, &'static str)> {
    let share = |of: fn(&Machining) -> u32| load.clamped.iter().map(|one| share_s(case, one, of)).sum();
    let fixture = load.fixture.and_then(|fixture| case.shop.fixtures.get(&fixture));
    let mount_s = fixture.map_or(0, |fixture| i64::from(fixture.facts.mount_s));
    let all = [
        (load.mount, mount_s, "mounting for"),
        (load.load, share(|machining| machining.load_s), "clamping"),
        (load.unload, share(|machining| machining.unload_s), "taking off"),
    ];
    all.into_iter()
        .filter_map(|(window, length_s, what)| Some((window?, length_s, what)))
        .collect()
}

/// Of the time for a full load, the part that so many pieces take, rounded up.
fn share_s(case: &Case<'_>, one: &Clamped, of: fn(&Machining) -> u32) -> i64 {
    let Some(machining) = work::machining(case.shop, one.job, one.operation) else {
        return 0;
    };
    let (full_s, pieces) = (i64::from(of(machining)), i64::from(one.pieces));
    let full = i64::from(machining.pieces_per_load.max(1));
    (full_s * pieces + full - 1) / full
}

fn in_staffed_time(case: &mut Case<'_>, crew: Crew, all: &[Work]) {
    let calendar = match crew {
        Some(cell) => case.calendar(cell),
        None => &case.site.calendar,
    };
    let shifts = case.staffed(calendar);
    for work in all {
        let shift = shifts
            .iter()
            .find(|(window, people)| *people > 0 && window.encloses(work.window));
        let Some((_, people)) = shift else {
            case.fault(
                "staffed",
                format!(
                    "{} from {} to {} with nobody there",
                    work.what, work.window.from, work.window.to
                ),
            );
            continue;
        };
        let at_once = |other: &&Work| other.window.contains(work.window.from);
        let busy = all.iter().filter(at_once).count();
        case.unless(busy <= *people as usize, "people", || {
            format!(
                "{busy} things are done at once at {}, by {people} people",
                work.window.from
            )
        });
        let stations = match case.shop.cells.get(&work.cell).map(|cell| cell.kind) {
            Some(CellKind::Pool { load_stations, .. }) => load_stations as usize,
            _ => usize::MAX,
        };
        let taken = all
            .iter()
            .filter(at_once)
            .filter(|other| other.cell == work.cell)
            .count();
        case.unless(taken <= stations, "load-stations", || {
            format!(
                "{taken} pallets are at {stations} load stations at {}",
                work.window.from
            )
        });
    }
}
