//! How the events of inspection change the shop. Facts about things that are not there change nothing.

use super::pieces::undecided;
use super::{Decided, DispositionProposed, HoldDisposed, InspectionReversed, Lapse, Unjudged};
use crate::actor::person;
use crate::entry::EntryMeta;
use crate::event::Event;
use crate::ids::PalletId;
use crate::job::Inspection;
use crate::load::{Approved, Clamped, Hold, Load, Proposal, Verdict};
use crate::shop::Shop;
use crate::time::Timestamp;

pub fn apply(shop: &mut Shop, event: &Event, meta: &EntryMeta) {
    match event {
        Event::HoldDisposed(event) => dispose(shop, event, meta),
        Event::DispositionProposed(event) => propose(shop, event, meta),
        Event::InspectionReversed(event) => reverse(shop, event, meta),
        Event::CustomerInspectionSet(set) => shop.customers.update(&set.customer, |customer| {
            customer.inspection.clone_from(&set.rules);
            customer.inspection_changed_seq = meta.seq;
        }),
        Event::OrderApprovalSet(set) => shop.orders.update(&set.order, |order| {
            order.customer_approval_needed = set.customer_approval_needed;
            order.changed_seq = meta.seq;
        }),
        Event::FirstArticleDue(due) => shop.jobs.update(&due.job, |job| {
            job.first_article_due = Some(Lapse {
                last_finished: due.last_finished,
                days: due.days,
                after_months: due.after_months,
            });
            job.changed_seq = meta.seq;
        }),
        _ => {}
    }
}

/// Pieces that lie in inspection move at once; those on a pallet when they are taken off.
fn dispose(shop: &mut Shop, event: &HoldDisposed, meta: &EntryMeta) {
    for one in &event.pieces {
        let counts = event.disposition.counts(one.pieces);
        let inspection = Inspection {
            seq: meta.seq,
            operation: one.operation,
            counts,
            disposition: Some(event.disposition),
            hold: Some(event.hold),
            load: event.on_pallet.then_some(event.load),
            by: person(meta.actor),
            at: event.at,
            runs: Vec::new(),
            reversed_by: None,
        };
        shop.jobs.update(&one.job, |job| {
            if !event.on_pallet {
                job.inspected(one.operation, counts);
            }
            job.note_inspection(inspection);
            job.changed_seq = meta.seq;
        });
    }
    if event.on_pallet {
        on_load(shop, event.pallet, event.at, meta, |load| {
            load.decided.extend(event.pieces.iter().map(|one| Verdict {
                seq: meta.seq,
                job: one.job,
                operation: one.operation,
                disposition: event.disposition,
                pieces: one.pieces,
            }));
        });
    }
    let approved = event.approved.iter();
    for given in approved {
        shop.keep_approval(Approved::new(given, meta.seq));
    }
    if event.lifted {
        lift(shop, event, meta);
    } else {
        shop.holds.update(&event.hold, |hold| {
            take(&mut hold.waiting, &event.pieces);
            hold.changed_seq = meta.seq;
        });
        if !is_still_proposed(shop, event) {
            shop.holds.update(&event.hold, |hold| hold.proposal = None);
        }
    }
}

/// Of what was proposed nothing was decided otherwise.
fn is_still_proposed(shop: &Shop, event: &HoldDisposed) -> bool {
    let Some(hold) = shop.holds.get(&event.hold) else {
        return false;
    };
    let left = undecided(shop, hold);
    let waits = |one: &Decided| {
        let same = |known: &&Clamped| (known.job, known.operation) == (one.job, one.operation);
        left.iter()
            .find(same)
            .is_some_and(|known| known.pieces >= one.pieces)
    };
    hold.proposal.as_ref().is_some_and(|proposal| {
        proposal.disposition != event.disposition && proposal.pieces.iter().all(waits)
    })
}

fn lift(shop: &mut Shop, event: &HoldDisposed, meta: &EntryMeta) {
    let lifted = shop.holds.get(&event.hold).cloned();
    shop.holds.remove(&event.hold);
    if event.on_pallet {
        on_load(shop, event.pallet, event.at, meta, |load| {
            load.hold = None;
            load.lifted = lifted;
        });
    }
}

fn take(waiting: &mut Vec<Clamped>, decided: &[Decided]) {
    for one in decided {
        let same = |known: &&mut Clamped| (known.job, known.operation) == (one.job, one.operation);
        if let Some(known) = waiting.iter_mut().find(same) {
            known.pieces = known.pieces.saturating_sub(one.pieces);
        }
    }
    waiting.retain(|known| known.pieces > 0);
}

fn propose(shop: &mut Shop, event: &DispositionProposed, meta: &EntryMeta) {
    shop.holds.update(&event.hold, |hold| {
        hold.proposal = Some(Proposal {
            disposition: event.disposition,
            pieces: event.pieces.clone(),
            authority: event.authority,
            self_checked: event.self_checked,
            note: event.note.clone(),
            at: event.at,
        });
        hold.changed_seq = meta.seq;
    });
}

/// What the result opened is closed again. Runs that it allowed have happened.
fn reverse(shop: &mut Shop, event: &InspectionReversed, meta: &EntryMeta) {
    for one in &event.pieces {
        shop.jobs.update(&one.job, |job| {
            if !event.on_pallet {
                job.unjudge(one.operation, one.counts);
            }
            job.reverse_inspection(event.entry, meta.seq);
            job.changed_seq = meta.seq;
        });
    }
    shop.withdraw_approvals(event.entry);
    if let Some(pallet) = event.pallet {
        hold_again(shop, event, pallet, meta);
        return;
    }
    let Some(hold) = event.hold else { return };
    shop.holds.update(&hold, |hold| {
        for one in &event.pieces {
            put_back(&mut hold.waiting, &hold.clamped, one);
        }
        hold.changed_seq = meta.seq;
    });
}

fn put_back(waiting: &mut Vec<Clamped>, clamped: &[Clamped], one: &Unjudged) {
    let pieces = u32::try_from(one.counts.total()).unwrap_or(u32::MAX);
    let same = |known: &&mut Clamped| (known.job, known.operation) == (one.job, one.operation);
    match waiting.iter_mut().find(same) {
        Some(known) => known.pieces = known.pieces.saturating_add(pieces),
        None => waiting.push(Clamped {
            job: one.job,
            operation: one.operation,
            pieces,
            rework: clamped.iter().any(|known| known.rework),
        }),
    }
}

/// Its pieces are clamped still: they wait for a decision as before.
fn hold_again(shop: &mut Shop, event: &InspectionReversed, pallet: PalletId, meta: &EntryMeta) {
    let mut again = None;
    on_load(shop, pallet, event.at, meta, |load| {
        load.decided.retain(|verdict| verdict.seq != event.entry);
        if load.hold.is_none() {
            again = load.lifted.take();
            load.hold = again.as_ref().map(|hold| hold.id);
        }
    });
    if let Some(hold) = again {
        let hold = Hold {
            proposal: None,
            changed_seq: meta.seq,
            ..hold
        };
        shop.holds.insert(hold.id, hold);
    }
}

fn on_load(
    shop: &mut Shop,
    pallet: PalletId,
    at: Timestamp,
    meta: &EntryMeta,
    change: impl FnOnce(&mut Load),
) {
    shop.pallets.update(&pallet, |pallet| {
        if let Some(load) = &mut pallet.load {
            change(load);
        }
        pallet.acted_at = pallet.acted_at.max(Some(at));
        pallet.changed_seq = meta.seq;
    });
}
