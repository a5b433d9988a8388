//! What every act on the floor asks first: is the pallet here, when was it, is somebody able to reach it.

use super::{ActRefusal, OverridableRule, Override};
use crate::cell::CellKind;
use crate::ids::{MachineId, PalletId};
use crate::machine::{self, Machine, MachineRefusal};
use crate::pallet::{Pallet, PalletRefusal, Position};
use crate::refusal::Refusal;
use crate::shop::Shop;
use crate::time::Timestamp;

pub fn known(shop: &Shop, pallet: PalletId) -> Result<&Pallet, Refusal> {
    let unknown = PalletRefusal::Unknown { pallet };
    shop.pallets.get(&pallet).ok_or_else(|| unknown.into())
}

pub fn known_machine(shop: &Shop, machine: MachineId) -> Result<&Machine, Refusal> {
    let unknown = MachineRefusal::Unknown { machine };
    shop.machines.get(&machine).ok_or_else(|| unknown.into())
}

/// An act is told of now or of before, but never of before the last one on the same thing.
pub fn is_in_time(pallet: &Pallet, at: Timestamp, now: Timestamp) -> Result<(), Refusal> {
    machine::in_range(at, now, || "/at".to_owned())?;
    after_last(at, pallet.acted_at, || format!("pallet {}", pallet.facts.code))
}

pub fn is_in_time_on(
    machine: &Machine,
    pallet: Option<&Pallet>,
    at: Timestamp,
    now: Timestamp,
) -> Result<(), Refusal> {
    machine::in_range(at, now, || "/at".to_owned())?;
    after_last(at, machine.acted_at, || format!("machine {}", machine.code))?;
    match pallet {
        Some(pallet) => after_last(at, pallet.acted_at, || format!("pallet {}", pallet.facts.code)),
        None => Ok(()),
    }
}

pub fn after_last(
    at: Timestamp,
    last_act: Option<Timestamp>,
    what: impl Fn() -> String,
) -> Result<(), Refusal> {
    match last_act {
        Some(last_act) if at < last_act => Err(ActRefusal::BeforeLast {
            at,
            last_act,
            what: what(),
        }
        .into()),
        _ => Ok(()),
    }
}

/// Where hands reach it: at a load station; the table of a standalone machine while nothing runs there.
pub fn is_at_hand(shop: &Shop, pallet: &Pallet) -> Result<(), Refusal> {
    match pallet.position {
        Position::LoadStation { .. } => Ok(()),
        Position::Spindle { machine } if is_standalone(shop, pallet) => {
            let runs = shop.machines.get(&machine).and_then(|machine| machine.run);
            match runs {
                Some(_) => Err(ActRefusal::MachineRuns {
                    pallet: pallet.id,
                    machine,
                }
                .into()),
                None => Ok(()),
            }
        }
        position => Err(ActRefusal::NotAtLoadStation {
            pallet: pallet.id,
            position,
        }
        .into()),
    }
}

pub fn is_standalone(shop: &Shop, pallet: &Pallet) -> bool {
    let cell = shop.cells.get(&pallet.cell);
    cell.is_some_and(|cell| cell.kind == CellKind::Standalone)
}

/// A rule that is broken: an override with a reason lets it pass and is kept, else it refuses.
pub fn unless_overridden(
    rule: OverridableRule,
    overrides: &[Override],
    used: &mut Vec<Override>,
    refusal: impl Into<Refusal>,
) -> Result<(), Refusal> {
    let Some(given) = overrides.iter().find(|given| given.rule == rule) else {
        return Err(refusal.into());
    };
    if !used.contains(given) {
        used.push(given.clone());
    }
    Ok(())
}
