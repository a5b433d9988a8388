//! How holds begin, and how they go on when their load is taken off.

use super::apply::on_pallet;
use super::{Count, HoldAccepted, HoldPlaced, in_process};
use crate::entry::EntryMeta;
use crate::ids::HoldId;
use crate::inspection::ApprovalGiven;
use crate::load::{Approved, Clamped, Hold, HoldKind, Load, Stage};
use crate::pallet::Pallet;
use crate::shop::Shop;

pub fn place_hold(shop: &mut Shop, event: &HoldPlaced, meta: &EntryMeta) {
    let Some(pallet) = shop.pallets.get(&event.pallet) else {
        return;
    };
    let (Some(load), Some(setup)) = (&pallet.load, &pallet.setup) else {
        return;
    };
    let machine = match load.stage {
        Stage::InRun { .. } | Stage::Cut { .. } => load
            .run()
            .and_then(|run| shop.runs.get(&run))
            .map(|run| run.machine),
        Stage::Ready | Stage::Aborted { .. } => None,
    };
    let hold = Hold {
        id: event.hold,
        kind: event.kind,
        since: event.at,
        cell: pallet.cell,
        pallet: pallet.id,
        load: event.load,
        setup: setup.id,
        machine,
        clamped: load.clamped.clone(),
        waiting: Vec::new(),
        cut_at: None,
        nests: shop
            .fixtures
            .get(&setup.fixture)
            .map_or(0, |fixture| fixture.facts.nests),
        hands: Vec::new(),
        proposal: None,
        changed_seq: meta.seq,
    };
    if hold.kind != HoldKind::Suspect {
        in_process::begin_again(shop, &hold.clamped);
    }
    shop.take_acceptance_back(event.pallet, meta);
    shop.holds.insert(event.hold, hold);
    on_pallet(shop, event.pallet, event.at, meta, |pallet| {
        if let Some(load) = &mut pallet.load {
            load.hold = Some(event.hold);
            load.decided.retain(|verdict| !verdict.disposition.lets_pass());
        }
    });
}

/// It stays as long as a piece of it waits in inspection; without one there is nothing left to decide.
pub fn keep_or_lift(shop: &mut Shop, hold: HoldId, counts: &[Count], load: &Load, meta: &EntryMeta) {
    let waiting = counts.iter().map(|count| Clamped {
        job: count.job,
        operation: count.operation,
        pieces: count
            .to_inspection
            .saturating_sub(load.returned(count.job, count.operation)),
        rework: count.rework,
    });
    let waiting: Vec<_> = waiting.filter(|one| one.pieces > 0).collect();
    if waiting.is_empty() {
        shop.holds.remove(&hold);
        return;
    }
    let run = match load.stage {
        Stage::Cut { run } => run.and_then(|run| shop.runs.get(&run)),
        Stage::Ready | Stage::InRun { .. } | Stage::Aborted { .. } => None,
    };
    let cut = run.map(|run| (run.machine, run.started_at));
    shop.holds.update(&hold, |hold| {
        hold.machine = cut.map(|(machine, _)| machine);
        hold.cut_at = cut.map(|(_, at)| at);
        hold.clamped.clone_from(&load.clamped);
        hold.waiting.clone_from(&waiting);
        hold.hands.clone_from(&load.hands);
        hold.changed_seq = meta.seq;
    });
}

/// As it was told before dispositions were: the pieces kept their place, and the approval named neither revision nor nests.
pub fn accept_hold(shop: &mut Shop, event: &HoldAccepted, meta: &EntryMeta) {
    let cut_at = shop.holds.get(&event.hold).and_then(|hold| hold.cut_at);
    shop.holds.remove(&event.hold);
    let is_on = |pallet: &Pallet| pallet.load.as_ref().is_some_and(|load| load.id == event.load);
    if shop.pallets.get(&event.pallet).is_some_and(is_on) {
        on_pallet(shop, event.pallet, event.at, meta, |pallet| {
            if let Some(load) = &mut pallet.load {
                load.hold = None;
            }
        });
    }
    for approval in &event.approved {
        let Some(job) = shop.jobs.get(&approval.job) else {
            continue;
        };
        let given = ApprovalGiven {
            job: approval.job,
            part: job.part,
            operation: approval.operation,
            revision: job.revision.clone(),
            setup: approval.setup,
            machine: approval.machine,
            nests: Vec::new(),
            first_article: approval.first_article,
            cut_at: cut_at.unwrap_or(event.at),
        };
        shop.keep_approval(Approved::new(&given, meta.seq));
    }
}
