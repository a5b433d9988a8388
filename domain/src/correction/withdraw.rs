//! It did not happen. Only the last thing that was done with a pallet can be taken back.

use super::decide::not_for_this;
use super::{ActWithdrawn, Correct, CorrectionRefusal, Withdrawn};
use crate::event::Event;
use crate::ids::{HoldId, MachineId, PalletId, RunId, Seq};
use crate::load::Stage;
use crate::pallet::{self, Pallet};
use crate::refusal::Refusal;
use crate::run::{Run, RunState};
use crate::shop::Shop;
use crate::time::Timestamp;

pub fn withdraw(shop: &Shop, command: &Correct) -> Result<ActWithdrawn, Refusal> {
    let Some((pallet, at)) = acted_on(&command.event) else {
        return Err(not_for_this(command, "withdrawing it"));
    };
    let pallet = last_act(shop, command.corrects, pallet)?;
    let what = match &command.event {
        Event::SetupStarted(event) => Withdrawn::SetupStart { setup: event.setup },
        Event::SetupEnded(event) => Withdrawn::SetupEnd { setup: event.setup },
        Event::PalletMoved(event) => {
            let there = pallet::standing_at(&shop.pallets, pallet.cell, event.from);
            if let Some(there) = there {
                return Err(CorrectionRefusal::PlaceTaken {
                    position: event.from,
                    pallet: there.id,
                }
                .into());
            }
            Withdrawn::Move { back_to: event.from }
        }
        Event::PalletLoaded(event) => Withdrawn::Load {
            load: event.load,
            clamped: event.clamped.clone(),
        },
        Event::RunStarted(event) => start(shop, event.run, event.machine, pallet),
        Event::RunPaused(event) => Withdrawn::Pause {
            run: event.run,
            machine: event.machine,
        },
        Event::RunFinished(event) => {
            machine_is_free(shop, command.corrects, event.machine, pallet)?;
            Withdrawn::Finish {
                run: event.run,
                machine: event.machine,
                hold: hold_with(shop, command.corrects, pallet),
            }
        }
        _ => return Err(not_for_this(command, "withdrawing it")),
    };
    Ok(ActWithdrawn {
        corrects: command.corrects,
        at,
        pallet: pallet.id,
        what,
        note: command.note.clone(),
    })
}

const fn acted_on(event: &Event) -> Option<(PalletId, Timestamp)> {
    Some(match event {
        Event::SetupStarted(event) => (event.pallet, event.at),
        Event::SetupEnded(event) => (event.pallet, event.at),
        Event::PalletMoved(event) => (event.pallet, event.at),
        Event::PalletLoaded(event) => (event.pallet, event.at),
        Event::RunStarted(event) => (event.pallet, event.at),
        Event::RunPaused(event) => (event.pallet, event.at),
        Event::RunFinished(event) => (event.pallet, event.at),
        _ => return None,
    })
}

/// The pallet, if nothing but a hold that came with the act was done with it since.
fn last_act(shop: &Shop, corrects: Seq, pallet: PalletId) -> Result<&Pallet, Refusal> {
    let moved_on = |seq| CorrectionRefusal::MovedOn {
        corrects,
        pallet,
        seq,
    };
    let known = shop.pallets.get(&pallet).ok_or_else(|| moved_on(corrects))?;
    let came_with_it = hold_with(shop, corrects, known).is_some();
    if known.changed_seq == corrects || came_with_it {
        return Ok(known);
    }
    Err(moved_on(known.changed_seq).into())
}

/// The hold that the entry after this one placed, if it is the last thing that happened to the pallet.
fn hold_with(shop: &Shop, corrects: Seq, pallet: &Pallet) -> Option<HoldId> {
    let hold = shop.holds.get(&pallet.load.as_ref()?.hold?)?;
    let is_next = hold.changed_seq == corrects + 1 && pallet.changed_seq == corrects + 1;
    is_next.then_some(hold.id)
}

fn start(shop: &Shop, run: RunId, machine: MachineId, pallet: &Pallet) -> Withdrawn {
    let load = pallet.load.as_ref().map(|load| load.id);
    let is_before = |other: &&Run| other.id != run && Some(other.load) == load && is_aborted(other);
    let broken_off = shop.runs.values().filter(is_before);
    let broken_off = broken_off.max_by_key(|other| (other.started_at, other.id));
    Withdrawn::Start {
        run,
        machine,
        clamped: shop
            .runs
            .get(&run)
            .map(|run| run.clamped.clone())
            .unwrap_or_default(),
        broken_off: broken_off.map(|other| other.id),
    }
}

const fn is_aborted(run: &Run) -> bool {
    matches!(run.state, RunState::Aborted { .. })
}

/// A run that goes on again needs its spindle.
fn machine_is_free(
    shop: &Shop,
    corrects: Seq,
    machine: MachineId,
    pallet: &Pallet,
) -> Result<(), CorrectionRefusal> {
    let open = shop.machines.get(&machine).and_then(|machine| machine.run);
    let is_cut = matches!(
        pallet.load.as_ref().map(|load| load.stage),
        Some(Stage::Cut { .. })
    );
    match open.and_then(|run| shop.runs.get(&run)) {
        None if is_cut => Ok(()),
        run => Err(CorrectionRefusal::MovedOn {
            corrects,
            pallet: pallet.id,
            seq: run.map_or(pallet.changed_seq, |run| run.changed_seq),
        }),
    }
}
