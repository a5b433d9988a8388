//! Deciding about held pieces: who may, which pieces, and what follows.

use super::nests::passage_of;
use super::pieces::{load_of, undecided};
use super::rule::{asks_customer, rule_of};
use super::time::is_inspector_there;
use super::{
    Authority, Decided, DisposeHold, DispositionProposed, DispositionRefusal, GiveReference, HoldDisposed,
    NightPolicy,
};
use crate::actor::Actor;
use crate::command::Context;
use crate::event::Event;
use crate::floor::first_piece::{approvals, wanted};
use crate::floor::{HoldRefusal, act};
use crate::load::{Clamped, Disposition, Hold, Load, Proposal, Stage};
use crate::machine;
use crate::pallet::Pallet;
use crate::refusal::Refusal;
use crate::role::Role;
use crate::shop::Shop;
use crate::time::Timestamp;
use std::collections::BTreeSet;

/// A hold with its load, if that is still on its pallet.
struct Held<'a> {
    hold: &'a Hold,
    pallet: &'a Pallet,
    load: Option<&'a Load>,
}

pub fn dispose(shop: &Shop, command: &DisposeHold, context: &Context<'_>) -> Result<Event, Refusal> {
    let held = held(shop, command, context.now)?;
    let disposition = command.disposition;
    let authority = authority(shop, &held, disposition, context.actor, command.at)?;
    is_cut(&held, disposition)?;
    if disposition != Disposition::Accept && command.note.is_none() {
        return Err(DispositionRefusal::NoteMissing { disposition }.into());
    }
    is_of_revision(shop, &held, command)?;
    let pieces = pieces(shop, &held, &wished(held.hold, command))?;
    names_nests(shop, &held, disposition, &pieces)?;
    if disposition.lets_pass() {
        is_not_night(shop, &held, command.at)?;
    }
    let self_checked = is_own(&held, context.actor);
    if disposition.lets_pass() && self_checked {
        may_check_own(shop, &held)?;
    }
    let needs_customer = disposition == Disposition::UseAsIs
        && of_hold(&held).any(|one| asks_customer(shop, one.job, one.operation));
    if needs_customer && command.reference.is_none() {
        return Ok(DispositionProposed {
            hold: held.hold.id,
            pallet: held.pallet.id,
            disposition,
            pieces,
            authority,
            self_checked,
            note: command.note.clone(),
            at: command.at,
        }
        .into());
    }
    let disposed = HoldDisposed {
        authority,
        self_checked,
        reference: command.reference.clone(),
        note: command.note.clone(),
        ..disposed(shop, &held, disposition, pieces, command.at)
    };
    Ok(disposed.into())
}

/// The reference that was missing: what was proposed is decided.
pub fn give_reference(
    shop: &Shop,
    command: &GiveReference,
    context: &Context<'_>,
) -> Result<HoldDisposed, Refusal> {
    let unknown = HoldRefusal::Unknown { hold: command.hold };
    let hold = shop.holds.get(&command.hold).ok_or(unknown)?;
    let nothing = DispositionRefusal::NothingProposed { hold: hold.id };
    let proposal = hold.proposal.as_ref().ok_or(nothing)?;
    let as_proposed = DisposeHold {
        hold: hold.id,
        disposition: proposal.disposition,
        pieces: proposal.pieces.clone(),
        revision: None,
        reference: Some(command.reference.clone()),
        at: command.at,
        note: proposal.note.clone(),
    };
    let held = held(shop, &as_proposed, context.now)?;
    let pieces = pieces(shop, &held, &as_proposed.pieces)?;
    Ok(HoldDisposed {
        authority: proposal.authority,
        self_checked: proposal.self_checked,
        reference: as_proposed.reference,
        note: as_proposed.note,
        ..disposed(shop, &held, proposal.disposition, pieces, command.at)
    })
}

/// What is there to decide about, and when.
fn held<'a>(shop: &'a Shop, command: &DisposeHold, now: Timestamp) -> Result<Held<'a>, Refusal> {
    let unknown = HoldRefusal::Unknown { hold: command.hold };
    let hold = shop.holds.get(&command.hold).ok_or(unknown)?;
    let pallet = act::known(shop, hold.pallet)?;
    let load = load_of(shop, hold);
    match load.map(|load| load.stage) {
        // Its pallet may have gone on since: only the hold's own beginning comes before the decision.
        None => {
            machine::in_range(command.at, now, || "/at".to_owned())?;
            act::after_last(command.at, Some(hold.since), || "this hold".to_owned())?;
        }
        Some(Stage::InRun { run }) => {
            let pallet = pallet.id;
            return Err(HoldRefusal::StillCut { pallet, run }.into());
        }
        Some(Stage::Ready | Stage::Cut { .. } | Stage::Aborted { .. }) => {
            act::is_in_time(pallet, command.at, &act::Telling::live(now))?;
        }
    }
    Ok(Held { hold, pallet, load })
}

/// Whether it is cut or not, somebody may say that nothing is wrong with it.
fn is_cut(held: &Held<'_>, disposition: Disposition) -> Result<(), DispositionRefusal> {
    let is_whole = held
        .load
        .is_some_and(|load| !matches!(load.stage, Stage::Cut { .. }));
    if is_whole && disposition != Disposition::Accept {
        let pallet = held.pallet.id;
        return Err(DispositionRefusal::NotCut { pallet, disposition });
    }
    Ok(())
}

/// Accepting, reworking and scrapping are the inspector's; a piece that is not as drawn is also whoever's who plans the
/// shop. At night a planner stands in where each customer agrees.
fn authority(
    shop: &Shop,
    held: &Held<'_>,
    disposition: Disposition,
    actor: Actor,
    at: Timestamp,
) -> Result<Authority, DispositionRefusal> {
    let id = match actor {
        Actor::System => return Ok(Authority::Service),
        Actor::Person(id) | Actor::Client(id) => id,
    };
    let has = |role: Role| {
        shop.principals
            .get(&id)
            .is_some_and(|one| one.roles.contains(&role))
    };
    if has(Role::Inspector) {
        return Ok(Authority::Inspector);
    }
    let is_planners = matches!(disposition, Disposition::UseAsIs | Disposition::Return);
    if is_planners && has(Role::Planner) {
        return Ok(Authority::Planner);
    }
    let agrees = |one: Clamped| rule_of(shop, one.job, one.operation).night == Some(NightPolicy::Supervisor);
    if has(Role::Planner) && !is_inspector_there(shop, at) && of_hold(held).all(agrees) {
        return Ok(Authority::Supervisor);
    }
    let authority = if is_planners {
        "an inspector or a planner"
    } else {
        "an inspector, or by a planner while no inspector is there and the customer agrees"
    };
    Err(DispositionRefusal::RoleMissing {
        disposition,
        authority,
    })
}

/// All that it is about, decided or not.
fn of_hold(held: &Held<'_>) -> impl Iterator<Item = Clamped> + use<> {
    let clamped = held.load.map_or(&held.hold.clamped, |load| &load.clamped);
    clamped.clone().into_iter()
}

/// An approval is for the revision that was measured, whatever stands on the pallet.
fn is_of_revision(shop: &Shop, held: &Held<'_>, command: &DisposeHold) -> Result<(), DispositionRefusal> {
    let Some(measured) = &command.revision else {
        return Ok(());
    };
    let jobs = of_hold(held).filter_map(|one| shop.jobs.get(&one.job));
    let mut others = jobs.filter(|job| !job.revision.is_spoken_like(measured));
    match others.next() {
        Some(job) => Err(DispositionRefusal::RevisionDiffers {
            measured: measured.clone(),
            job: job.id,
            revision: job.revision.clone(),
            hold: held.hold.id,
        }),
        None => Ok(()),
    }
}

/// What was proposed is meant where nothing else is said.
fn wished(hold: &Hold, command: &DisposeHold) -> Vec<Decided> {
    let proposed = |proposal: &&Proposal| proposal.disposition == command.disposition;
    match &hold.proposal.as_ref().filter(proposed) {
        Some(proposal) if command.pieces.is_empty() => proposal.pieces.clone(),
        _ => command.pieces.clone(),
    }
}

fn pieces(shop: &Shop, held: &Held<'_>, wished: &[Decided]) -> Result<Vec<Decided>, DispositionRefusal> {
    // What was not cut has no result.
    if held
        .load
        .is_some_and(|load| !matches!(load.stage, Stage::Cut { .. }))
    {
        return Ok(Vec::new());
    }
    let undecided = undecided(shop, held.hold);
    if wished.is_empty() {
        let all = undecided.iter().map(|one| Decided {
            job: one.job,
            operation: one.operation,
            pieces: one.pieces,
            nests: Vec::new(),
        });
        return Ok(all.collect());
    }
    for (index, one) in wished.iter().enumerate() {
        let (job, operation) = (one.job, u32::from(one.operation));
        let is_same = |other: &Decided| (other.job, other.operation) == (one.job, one.operation);
        if wished[..index].iter().any(is_same) {
            return Err(DispositionRefusal::Repeated {
                index,
                job,
                operation,
            });
        }
        let there = undecided
            .iter()
            .find(|there| (there.job, there.operation) == (one.job, one.operation));
        let there = there.ok_or(DispositionRefusal::NotHeld {
            index,
            job,
            operation,
        })?;
        if !(1..=there.pieces).contains(&one.pieces) {
            return Err(DispositionRefusal::BadPieces {
                index,
                pieces: one.pieces,
                undecided: there.pieces,
                job,
                operation,
            });
        }
        let mut named = BTreeSet::new();
        let nests = held.hold.nests;
        if let Some(nest) = one
            .nests
            .iter()
            .find(|nest| !(1..=nests).contains(*nest) || !named.insert(**nest))
        {
            let nest = *nest;
            return Err(DispositionRefusal::BadNest { index, nest, nests });
        }
    }
    Ok(wished.to_vec())
}

/// Where each nest is to be approved, every accepted piece says in which it sat.
fn names_nests(
    shop: &Shop,
    held: &Held<'_>,
    disposition: Disposition,
    pieces: &[Decided],
) -> Result<(), DispositionRefusal> {
    let Some(passage) = passage_of(shop, held.hold).filter(|_| disposition == Disposition::Accept) else {
        return Ok(());
    };
    let unnamed = pieces.iter().find(|one| {
        rule_of(shop, one.job, one.operation).every_nest
            && wanted(shop, one.job, one.operation, passage).is_some()
            && one.nests.len() != one.pieces as usize
    });
    match unnamed {
        Some(one) => Err(DispositionRefusal::NestsUnnamed {
            job: one.job,
            operation: u32::from(one.operation),
            nests: held.hold.nests,
            named: one.nests.len(),
            pieces: one.pieces,
        }),
        None => Ok(()),
    }
}

fn is_not_night(shop: &Shop, held: &Held<'_>, at: Timestamp) -> Result<(), DispositionRefusal> {
    let waits = |one: &Clamped| rule_of(shop, one.job, one.operation).night == Some(NightPolicy::TillDay);
    let waiting = of_hold(held).find(waits);
    match waiting.filter(|_| !is_inspector_there(shop, at)) {
        Some(one) => Err(DispositionRefusal::TillDay {
            customer_of: one.job,
            hold: held.hold.id,
            kind: held.hold.kind,
        }),
        None => Ok(()),
    }
}

fn is_own(held: &Held<'_>, actor: Actor) -> bool {
    let hands = held.load.map_or(&held.hold.hands, |load| &load.hands);
    matches!(actor, Actor::Person(id) if hands.contains(&id))
}

fn may_check_own(shop: &Shop, held: &Held<'_>) -> Result<(), DispositionRefusal> {
    let asks = of_hold(held).find(|one| rule_of(shop, one.job, one.operation).independent);
    match asks {
        Some(one) => Err(DispositionRefusal::NotIndependent {
            hold: held.hold.id,
            job: one.job,
        }),
        None => Ok(()),
    }
}

/// What comes of it, but for who says so.
fn disposed(
    shop: &Shop,
    held: &Held<'_>,
    disposition: Disposition,
    pieces: Vec<Decided>,
    at: Timestamp,
) -> HoldDisposed {
    let left = undecided(shop, held.hold)
        .iter()
        .map(|one| one.pieces)
        .sum::<u32>();
    let decided: u32 = pieces.iter().map(|one| one.pieces).sum();
    let is_whole = held
        .load
        .is_some_and(|load| !matches!(load.stage, Stage::Cut { .. }));
    let passage = passage_of(shop, held.hold).filter(|_| disposition == Disposition::Accept);
    let approved = passage.map(|passage| approvals(shop, &pieces, passage));
    HoldDisposed {
        hold: held.hold.id,
        pallet: held.pallet.id,
        load: held.hold.load,
        disposition,
        on_pallet: held.load.is_some(),
        pieces,
        lifted: is_whole || decided >= left,
        approved: approved.unwrap_or_default(),
        authority: Authority::Service,
        self_checked: false,
        reference: None,
        note: None,
        at,
    }
}
