//! Holding a load. What is decided about it stands in `inspection`.

use super::act::{Telling, is_in_time, known};
use super::{HoldPlaced, HoldRefusal, PlaceHold};
use crate::load::HoldKind;
use crate::refusal::Refusal;
use crate::shop::Shop;

/// Somebody doubts what is on the pallet, or wants one of many measured. While it is cut the hold stops nothing; it holds
/// when it comes out.
pub fn place(shop: &Shop, command: &PlaceHold, telling: &Telling) -> Result<HoldPlaced, Refusal> {
    let pallet = known(shop, command.pallet)?;
    if matches!(command.kind, HoldKind::FirstPiece | HoldKind::FirstArticle) {
        return Err(HoldRefusal::NotByHand { kind: command.kind }.into());
    }
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
        kind: command.kind,
        pallet: pallet.id,
        load: load.id,
        at: command.at,
        note: command.note.clone(),
    })
}
