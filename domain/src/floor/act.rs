//! What every act on the floor asks first: is the pallet here, when was it, is somebody able to reach it.

use super::{ActRefusal, OverridableRule, Override};
use crate::cell::CellKind;
use crate::ids::{MachineId, PalletId};
use crate::machine::{self, Machine, MachineRefusal};
use crate::pallet::{Pallet, PalletRefusal, Position};
use crate::refusal::Refusal;
use crate::shop::Shop;
use crate::time::Timestamp;
use std::cell::RefCell;

/// How an act is told, and which rules it was against.
#[derive(Debug)]
pub struct Telling {
    pub now: Timestamp,
    manner: Manner,
    against: RefCell<Vec<Refusal>>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Manner {
    /// It is being done: a rule that forbids it refuses it.
    Live,
    /// It was done: a rule that forbade it is noted.
    Reported,
    /// The same, and a person has looked at what seemed to speak against it.
    Confirmed,
}

impl Telling {
    pub const fn live(now: Timestamp) -> Self {
        Self::of(now, Manner::Live)
    }

    pub const fn reported(now: Timestamp) -> Self {
        Self::of(now, Manner::Reported)
    }

    pub const fn confirmed(now: Timestamp) -> Self {
        Self::of(now, Manner::Confirmed)
    }

    const fn of(now: Timestamp, manner: Manner) -> Self {
        Self {
            now,
            manner,
            against: RefCell::new(Vec::new()),
        }
    }

    /// Somebody who is badged in on a tablet is there, whatever the calendar says; of what happened before, only the
    /// calendar tells.
    pub fn somebody_is_there(&self, shop: &Shop) -> bool {
        self.manner == Manner::Live && shop.badges.values().any(|badge| badge.is_live(self.now))
    }

    /// Of a rule that people can break: what was done all the same is noted.
    pub fn forbids(&self, refusal: impl Into<Refusal>) -> Result<(), Refusal> {
        self.refuses_unless(self.manner != Manner::Live, refusal)
    }

    /// Of something that seems not to be true any more: only somebody who has looked may say that it is.
    pub fn doubts(&self, refusal: impl Into<Refusal>) -> Result<(), Refusal> {
        self.refuses_unless(self.manner == Manner::Confirmed, refusal)
    }

    fn refuses_unless(&self, is_noted: bool, refusal: impl Into<Refusal>) -> Result<(), Refusal> {
        if !is_noted {
            return Err(refusal.into());
        }
        self.against.borrow_mut().push(refusal.into());
        Ok(())
    }

    /// The rules that it was against, in the order in which they were asked.
    pub fn into_deviations(self) -> Vec<Refusal> {
        self.against.into_inner()
    }
}

pub fn known(shop: &Shop, pallet: PalletId) -> Result<&Pallet, Refusal> {
    let unknown = PalletRefusal::Unknown { pallet };
    shop.pallets.get(&pallet).ok_or_else(|| unknown.into())
}

pub fn known_machine(shop: &Shop, machine: MachineId) -> Result<&Machine, Refusal> {
    let unknown = MachineRefusal::Unknown { machine };
    shop.machines.get(&machine).ok_or_else(|| unknown.into())
}

/// An act is told of now or of before. While it is done it is never told of before the last one on the same thing; one
/// that is reported may be, where the thing itself does not speak against it.
pub fn is_in_time(pallet: &Pallet, at: Timestamp, telling: &Telling) -> Result<(), Refusal> {
    machine::in_range(at, telling.now, || "/at".to_owned())?;
    if telling.manner != Manner::Live {
        return Ok(());
    }
    after_last(at, pallet.acted_at, || of_pallet(pallet))
}

/// What an act leaves behind is how things stand now: one of before the last one cannot be that.
pub fn is_the_last(pallet: &Pallet, at: Timestamp) -> Result<(), Refusal> {
    after_last(at, pallet.acted_at, || of_pallet(pallet))
}

pub fn is_in_time_on(
    machine: &Machine,
    pallet: Option<&Pallet>,
    at: Timestamp,
    telling: &Telling,
) -> Result<(), Refusal> {
    machine::in_range(at, telling.now, || "/at".to_owned())?;
    if telling.manner != Manner::Live {
        return Ok(());
    }
    after_last(at, machine.acted_at, || format!("machine {}", machine.code))?;
    pallet.map_or(Ok(()), |pallet| {
        after_last(at, pallet.acted_at, || of_pallet(pallet))
    })
}

fn of_pallet(pallet: &Pallet) -> String {
    format!("pallet {}", pallet.facts.code)
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
pub fn is_at_hand(shop: &Shop, pallet: &Pallet, telling: &Telling) -> Result<(), Refusal> {
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
        position => telling.doubts(ActRefusal::NotAtLoadStation {
            pallet: pallet.id,
            position,
        }),
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
    telling: &Telling,
    refusal: impl Into<Refusal>,
) -> Result<(), Refusal> {
    let Some(given) = overrides.iter().find(|given| given.rule == rule) else {
        return telling.forbids(refusal);
    };
    if !used.contains(given) {
        used.push(given.clone());
    }
    Ok(())
}
