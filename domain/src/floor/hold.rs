//! Holding a load, and deciding about it.

use super::act::{Telling, after_last, is_in_time, known};
use super::first_piece::approvals;
use super::{DisposeHold, HoldAccepted, HoldPlaced, HoldRefusal, PlaceHold};
use crate::load::{HoldKind, Stage};
use crate::machine;
use crate::refusal::Refusal;
use crate::shop::Shop;
use crate::time::Timestamp;

/// Somebody doubts what is on the pallet. While it is cut the hold stops nothing; it holds when it comes out.
pub fn place(shop: &Shop, command: &PlaceHold, telling: &Telling) -> Result<HoldPlaced, Refusal> {
    let pallet = known(shop, command.pallet)?;
    is_in_time(pallet, command.at, telling)?;
    let nothing = HoldRefusal::NothingLoaded { pallet: pallet.id };
    let load = pallet.load.as_ref().ok_or(nothing)?;
    if let Some(hold) = load.hold.and_then(|hold| shop.holds.get(&hold)) {
        return Err(HoldRefusal::Already {
            pallet: pallet.id,
            hold: hold.id,
            kind: hold.kind,
            since: hold.since,
        }
        .into());
    }
    Ok(HoldPlaced {
        hold: command.hold,
        kind: HoldKind::Suspect,
        pallet: pallet.id,
        load: load.id,
        at: command.at,
        note: command.note.clone(),
    })
}

/// Accepting lifts the hold and opens the rest of the operation for this setup on this machine.
pub fn accept(shop: &Shop, command: &DisposeHold, now: Timestamp) -> Result<HoldAccepted, Refusal> {
    let unknown = HoldRefusal::Unknown { hold: command.hold };
    let hold = shop.holds.get(&command.hold).ok_or(unknown)?;
    let pallet = known(shop, hold.pallet)?;
    let load = pallet.load.as_ref().filter(|load| load.id == hold.load);
    match load.map(|load| load.stage) {
        // Its pallet may have gone on since: only the hold's own beginning comes before the decision.
        None => {
            machine::in_range(command.at, now, || "/at".to_owned())?;
            after_last(command.at, Some(hold.since), || "this hold".to_owned())?;
        }
        Some(Stage::InRun { run }) => {
            let pallet = pallet.id;
            return Err(HoldRefusal::StillCut { pallet, run }.into());
        }
        Some(Stage::Ready | Stage::Cut { .. } | Stage::Aborted { .. }) => {
            is_in_time(pallet, command.at, &Telling::live(now))?;
        }
    }
    let machine = match load.map(|load| load.stage) {
        Some(Stage::Cut { run }) => run.and_then(|run| shop.runs.get(&run)).map(|run| run.machine),
        // Pieces of a run that was broken off prove nothing about the setup.
        Some(_) => None,
        None => hold.machine,
    };
    let clamped = load.map_or(&hold.clamped, |load| &load.clamped);
    let approved = machine.map(|machine| approvals(shop, clamped, hold.setup, machine));
    Ok(HoldAccepted {
        hold: hold.id,
        pallet: hold.pallet,
        load: hold.load,
        at: command.at,
        approved: approved.unwrap_or_default(),
        note: command.note.clone(),
    })
}
