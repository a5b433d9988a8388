//! Moving a pallet between load stations, stands and spindles. The changer or a person moves it; this is the record.

use super::act::{Telling, is_in_time, is_the_last, known};
use super::{MovePallet, MoveRefusal, PalletMoved};
use crate::cell::CellRefusal;
use crate::event::Event;
use crate::load::Stage;
use crate::pallet::{self, Pallet, Position};
use crate::refusal::Refusal;
use crate::shop::Shop;

/// Two entries where two pallets change places.
pub fn move_pallet(shop: &Shop, command: &MovePallet, telling: &Telling) -> Result<Vec<Event>, Refusal> {
    let pallet = known(shop, command.pallet)?;
    has_place(shop, pallet, command.to)?;
    is_in_time(pallet, command.at, telling)?;
    is_the_last(pallet, command.at)?;
    may_leave(pallet)?;
    if pallet.position == command.to {
        return Err(MoveRefusal::AlreadyThere {
            pallet: pallet.id,
            position: command.to,
        }
        .into());
    }
    let there = pallet::standing_at(&shop.pallets, pallet.cell, command.to);
    match there {
        Some(there) if command.exchange => {
            is_in_time(there, command.at, telling)?;
            is_the_last(there, command.at)?;
            may_leave(there)?;
            may_go_to(shop, there, pallet.position, telling)?;
        }
        Some(there) => {
            return Err(MoveRefusal::PlaceTaken {
                position: command.to,
                pallet: there.id,
                code: there.facts.code.clone(),
            }
            .into());
        }
        None => {}
    }
    may_go_to(shop, pallet, command.to, telling)?;
    let moved = |pallet: &Pallet, to: Position| {
        Event::from(PalletMoved {
            pallet: pallet.id,
            from: pallet.position,
            to,
            at: command.at,
        })
    };
    let other = there.map(|there| moved(there, pallet.position));
    Ok(std::iter::once(moved(pallet, command.to)).chain(other).collect())
}

fn has_place(shop: &Shop, pallet: &Pallet, to: Position) -> Result<(), Refusal> {
    let unknown = CellRefusal::Unknown { cell: pallet.cell };
    let cell = shop.cells.get(&pallet.cell).ok_or(unknown)?;
    if pallet::has_place(cell, &shop.machines, to).is_err() {
        return Err(MoveRefusal::UnknownPlace {
            position: to,
            cell: cell.code.clone(),
            places: cell.kind.places(),
        }
        .into());
    }
    Ok(())
}

fn may_leave(pallet: &Pallet) -> Result<(), MoveRefusal> {
    match pallet.load.as_ref().map(|load| load.stage) {
        Some(Stage::InRun { run }) => Err(MoveRefusal::InRun {
            pallet: pallet.id,
            run,
        }),
        _ => Ok(()),
    }
}

/// A held load may be set aside, but it does not go to a spindle.
fn may_go_to(shop: &Shop, pallet: &Pallet, to: Position, telling: &Telling) -> Result<(), Refusal> {
    let held = pallet.load.as_ref().and_then(|load| load.hold);
    match held.and_then(|hold| shop.holds.get(&hold)) {
        Some(hold) if matches!(to, Position::Spindle { .. }) => telling.forbids(MoveRefusal::Held {
            pallet: pallet.id,
            hold: hold.id,
            kind: hold.kind,
            since: hold.since,
        }),
        _ => Ok(()),
    }
}
