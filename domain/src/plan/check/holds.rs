//! First articles and first pieces: who is held after the run, what waits meanwhile, and that the inspector has time.

use super::case::{Case, named, starts_at};
use crate::floor::work;
use crate::ids::{JobId, MachineId, PalletId};
use crate::inspection::rule_of;
use crate::load::HoldKind;
use crate::plan::model::LoadKey;
use crate::plan::schedule::ScheduledLoad;
use crate::time::{Timestamp, US_PER_SECOND, Window};

/// A first piece from the start of its run until it is accepted.
struct FirstPiece {
    key: Option<LoadKey>,
    job: JobId,
    operation: u16,
    kind: HoldKind,
    /// The pallet, and how often a fixture had been mounted on it by then.
    setup: Option<(PalletId, usize)>,
    machine: Option<MachineId>,
    open: Window,
}

pub(super) fn check(case: &mut Case<'_>) {
    let known = first_pieces(case);
    let mut loads: Vec<_> = case
        .schedule
        .loads
        .iter()
        .filter(|load| load.run.is_some())
        .collect();
    loads.sort_by_key(|load| load.run.map(|run| run.from));
    for load in loads {
        one(case, &known, load);
    }
    standing_holds(case);
    inspector(case);
}

/// All that are open in the schedule or were open before it, and what was accepted before it.
fn first_pieces(case: &Case<'_>) -> Vec<FirstPiece> {
    let mut known = Vec::new();
    for load in &case.schedule.loads {
        let (Some(kind), Some(run), Some(inspection)) = (load.held_as, load.run, load.inspection) else {
            continue;
        };
        for one in &load.clamped {
            known.push(FirstPiece {
                key: Some(load.key),
                job: one.job,
                operation: one.operation,
                kind,
                setup: Some((load.pallet, mounts_before(case, load))),
                machine: load.machine,
                open: Window::new(run.from, inspection.to),
            });
        }
    }
    for judged in &case.schedule.judged {
        let Some(hold) = case
            .shop
            .holds
            .get(&judged.hold)
            .filter(|hold| hold.kind.opens_the_rest())
        else {
            continue;
        };
        let pallet = case.shop.pallets.get(&hold.pallet);
        let same = pallet.and_then(|pallet| pallet.setup.as_ref().filter(|setup| setup.id == hold.setup));
        for one in &hold.clamped {
            known.push(FirstPiece {
                key: None,
                job: one.job,
                operation: one.operation,
                kind: hold.kind,
                setup: same.map(|_| (hold.pallet, 0)),
                machine: hold.machine,
                open: Window::new(hold.since, judged.inspection.to),
            });
        }
    }
    for (job, approvals) in case.shop.approvals.iter() {
        for approval in approvals {
            let with_it = case.shop.pallets.values().find(|pallet| {
                pallet
                    .setup
                    .as_ref()
                    .is_some_and(|setup| setup.id == approval.setup)
            });
            known.push(FirstPiece {
                key: None,
                job: *job,
                operation: approval.operation,
                kind: if approval.first_article {
                    HoldKind::FirstArticle
                } else {
                    HoldKind::FirstPiece
                },
                setup: with_it.map(|pallet| (pallet.id, 0)),
                machine: Some(approval.machine),
                open: Window::new(Timestamp::MIN, Timestamp::MIN),
            });
        }
    }
    known
}

fn mounts_before(case: &Case<'_>, load: &ScheduledLoad) -> usize {
    let at = starts_at(load, case.schedule.from);
    let on_pallet = case
        .schedule
        .loads
        .iter()
        .filter(|other| other.pallet == load.pallet);
    on_pallet
        .filter(|other| other.mount.is_some_and(|mount| mount.from <= at))
        .count()
}

fn one(case: &mut Case<'_>, known: &[FirstPiece], load: &ScheduledLoad) {
    let Some(run) = load.run else { return };
    let setup = (load.pallet, mounts_before(case, load));
    let mut asked = None;
    for one in &load.clamped {
        let Some(machining) = work::machining(case.shop, one.job, one.operation) else {
            continue;
        };
        let of_operation: Vec<_> = known
            .iter()
            .filter(|first| (first.job, first.operation) == (one.job, one.operation))
            .filter(|first| first.key != Some(load.key))
            .collect();
        let is_accepted = |first: &&&FirstPiece| first.open.to <= run.from;
        let has_article = of_operation
            .iter()
            .filter(is_accepted)
            .any(|first| first.kind == HoldKind::FirstArticle);
        let is_approved = of_operation
            .iter()
            .filter(is_accepted)
            .any(|first| first.setup == Some(setup) && first.machine == load.machine);
        let rule = rule_of(case.shop, one.job, one.operation);
        let job = case.shop.jobs.get(&one.job);
        let is_due = machining.first_article || job.is_some_and(|job| job.first_article_due.is_some());
        let wants = if is_due && !has_article {
            Some(HoldKind::FirstArticle)
        } else {
            (rule.wants_first_piece(machining) && !is_approved).then_some(HoldKind::FirstPiece)
        };
        asked = asked.max(wants);
        let is_open = |first: &&&FirstPiece| first.open.contains(run.from);
        let waits = of_operation
            .iter()
            .filter(is_open)
            .any(|first| first.kind == HoldKind::FirstArticle || wants.is_some());
        case.unless(!waits, "waits-for-first-piece", || {
            format!(
                "{} is cut at {}, before its first piece is accepted",
                named(load.key),
                run.from
            )
        });
    }
    case.unless(load.held_as == asked, "held-after-run", || {
        format!(
            "{} is held as {:?}, and the rules ask for {asked:?}",
            named(load.key),
            load.held_as
        )
    });
    case.unless(
        load.held_as.is_some() == load.inspection.is_some(),
        "inspected",
        || named(load.key),
    );
}

/// What is held now stays until it was judged.
fn standing_holds(case: &mut Case<'_>) {
    for load in &case.schedule.loads {
        let LoadKey::Standing(id) = load.key else { continue };
        let holds = case.shop.holds.values().filter(|hold| hold.load == id);
        let ids: Vec<_> = holds.map(|hold| hold.id).collect();
        for id in ids {
            let judged = case.schedule.judged.iter().find(|judged| judged.hold == id);
            let until = judged.map(|judged| judged.inspection.to);
            let next = load.run.or(load.unload).map(|window| window.from);
            case.unless(until.is_some() && next >= until, "held-stays", || {
                format!(
                    "{} goes on at {next:?} and is judged at {until:?}",
                    named(load.key)
                )
            });
        }
    }
}

fn inspector(case: &mut Case<'_>) {
    let own = case.site.people.inspectors.as_ref().map(|calendar| {
        let mut versions = crate::calendar::CalendarVersions::default();
        versions.set(chrono::NaiveDate::MIN, calendar.clone());
        versions
    });
    let times = case.staffed(own.as_ref().unwrap_or(&case.site.calendar));
    let judged = case.schedule.judged.iter().map(|judged| judged.inspection);
    let of_loads = case.schedule.loads.iter().filter_map(|load| load.inspection);
    let mut all: Vec<Window> = judged.chain(of_loads).collect();
    all.sort();
    for window in &all {
        let is_long = window.us() == case.options.inspection_s * US_PER_SECOND;
        let is_there = times.iter().any(|(shift, _)| shift.encloses(*window));
        case.unless(is_long && is_there, "inspector-there", || {
            format!("an inspection from {} to {}", window.from, window.to)
        });
    }
    for pair in all.windows(2) {
        case.unless(pair[0].to <= pair[1].from, "one-inspector", || {
            format!("two inspections at {}", pair[1].from)
        });
    }
}
