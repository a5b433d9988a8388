//! Starting a run.

use super::act::{Telling, after_last, is_in_time_on, known_machine, unless_overridden};
use super::first_piece::{Passage, open_for};
use super::work::{cycle_s, is_attended, not_cleared, not_on, short_tool, tool_use};
use super::{OverridableRule, Override, RunRefusal, RunStarted, StartRun};
use crate::ids::PalletId;
use crate::late::LateRefusal;
use crate::load::{Load, Stage};
use crate::machine::{Condition, Machine};
use crate::pallet::{self, Pallet, Position, Setup};
use crate::refusal::Refusal;
use crate::run::{Purpose, Run};
use crate::shop::Shop;
use crate::time::Timestamp;

pub fn start(shop: &Shop, command: &StartRun, telling: &Telling) -> Result<RunStarted, Refusal> {
    let machine = known_machine(shop, command.machine)?;
    let at_spindle = at_spindle(shop, machine);
    is_in_time_on(machine, at_spindle, command.at, telling)?;
    is_free(shop, machine, telling)?;
    let pallet = at_spindle.ok_or(RunRefusal::NoPallet { machine: machine.id })?;
    is_the_one(pallet, command.pallet, machine)?;
    let (Some(load), Some(setup)) = (&pallet.load, &pallet.setup) else {
        return Err(RunRefusal::NothingLoaded { pallet: pallet.id }.into());
    };
    if matches!(load.stage, Stage::InRun { .. } | Stage::Cut { .. }) {
        return Err(RunRefusal::CutAlready { pallet: pallet.id }.into());
    }
    if shop.runs.get(&command.run).is_some() {
        return Err(RunRefusal::IdTaken { run: command.run }.into());
    }
    after_last(command.at, Some(load.loaded_at), || "this load".to_owned())?;
    let purpose = purpose_of(load, command.purpose)?;
    if let Err(refusal) = may_be_cut(shop, pallet, load, passage(setup, machine, command.at)) {
        telling.forbids(refusal)?;
    }
    let unattended = !is_attended(shop, machine.cell, command.at) && !telling.somebody_is_there(shop);
    if unattended && let Err(refusal) = is_cleared(shop, pallet, load, machine, command.at) {
        telling.forbids(refusal)?;
    }
    if let Some(last_act) = machine.acted_at.filter(|last_act| command.at < *last_act) {
        telling.forbids(LateRefusal::Overlaps {
            at: command.at,
            machine: machine.code.clone(),
            last_act,
        })?;
    }
    Ok(RunStarted {
        run: command.run,
        cell: machine.cell,
        machine: machine.id,
        pallet: pallet.id,
        load: load.id,
        purpose,
        at: command.at,
        cycle_s: cycle_s(shop, &load.clamped, pallet.cell),
        unattended,
        overrides: overridden(shop, command, telling, machine, pallet, load)?,
    })
}

/// The rules that a planner may override.
fn overridden(
    shop: &Shop,
    command: &StartRun,
    telling: &Telling,
    machine: &Machine,
    pallet: &Pallet,
    load: &Load,
) -> Result<Vec<Override>, Refusal> {
    let mut used = Vec::new();
    if let Some(short) = short_tool(&machine.tools, &tool_use(shop, &load.clamped, pallet.cell)) {
        let refusal = RunRefusal::ToolLifeShort {
            machine: machine.id,
            short_s: short.short_s(),
            tool: short.tool,
            needed_s: short.needed_s,
            left_s: short.left_s,
        };
        let rule = OverridableRule::ToolLifeShort;
        unless_overridden(rule, &command.overrides, &mut used, telling, refusal)?;
    }
    if let Some(next) = next_in_queue(shop, machine, command.at).filter(|next| next.id != pallet.id) {
        let refusal = RunRefusal::NotNext {
            pallet: pallet.id,
            next: next.id,
            next_code: next.facts.code.clone(),
        };
        let rule = OverridableRule::NotNext;
        unless_overridden(rule, &command.overrides, &mut used, telling, refusal)?;
    }
    Ok(used)
}

fn is_the_one(at_spindle: &Pallet, named: Option<PalletId>, machine: &Machine) -> Result<(), RunRefusal> {
    match named {
        Some(named) if named != at_spindle.id => Err(RunRefusal::OtherPallet {
            machine: machine.id,
            pallet: named,
            at_spindle: at_spindle.id,
            at_spindle_code: at_spindle.facts.code.clone(),
        }),
        _ => Ok(()),
    }
}

pub fn at_spindle<'a>(shop: &'a Shop, machine: &Machine) -> Option<&'a Pallet> {
    let spindle = Position::Spindle { machine: machine.id };
    pallet::standing_at(&shop.pallets, machine.cell, spindle)
}

fn is_free(shop: &Shop, machine: &Machine, telling: &Telling) -> Result<(), Refusal> {
    if let Some(run) = machine.run.and_then(|run| shop.runs.get(&run)) {
        return Err(RunRefusal::MachineBusy {
            machine: machine.id,
            run: run.id,
            since: run.started_at,
        }
        .into());
    }
    match machine.condition {
        Condition::Down { since, reason } => telling.forbids(RunRefusal::MachineDown {
            machine: machine.id,
            since,
            reason,
        }),
        Condition::NeverDown | Condition::Up { .. } => Ok(()),
    }
}

fn purpose_of(load: &Load, asked: Option<Purpose>) -> Result<Purpose, RunRefusal> {
    let is_rework = load.is_rework();
    let (usual, rework) = if is_rework {
        (Purpose::Rework, "pieces to be reworked")
    } else {
        (Purpose::Production, "no pieces to be reworked")
    };
    let purpose = asked.unwrap_or(usual);
    if (purpose == Purpose::Rework) != is_rework {
        let rework = rework.to_owned();
        return Err(RunRefusal::PurposeDiffers { purpose, rework });
    }
    Ok(purpose)
}

pub const fn passage(setup: &Setup, machine: &Machine, at: Timestamp) -> Passage {
    Passage {
        setup: setup.id,
        machine: machine.id,
        at,
    }
}

/// The rules about quality: nobody overrides them.
pub fn may_be_cut(shop: &Shop, pallet: &Pallet, load: &Load, passage: Passage) -> Result<(), RunRefusal> {
    if let Some(hold) = load.hold.and_then(|hold| shop.holds.get(&hold)) {
        return Err(RunRefusal::Held {
            pallet: pallet.id,
            hold: hold.id,
            kind: hold.kind,
            since: hold.since,
        });
    }
    if let Some(open) = open_for(shop, load, passage) {
        return Err(RunRefusal::FirstPieceOpen {
            job: open.job,
            operation: u32::from(open.operation),
            kind: open.kind,
            for_other_revision: open.for_other_revision(),
            pallet: open.pallet,
            since: open.since,
        });
    }
    match not_on(shop, &load.clamped, pallet.cell, passage.machine) {
        Some(one) => Err(RunRefusal::WrongMachine {
            machine: passage.machine,
            job: one.job,
            operation: u32::from(one.operation),
        }),
        None => Ok(()),
    }
}

fn is_cleared(
    shop: &Shop,
    pallet: &Pallet,
    load: &Load,
    machine: &Machine,
    at: Timestamp,
) -> Result<(), RunRefusal> {
    match not_cleared(shop, &load.clamped, pallet.cell, machine.id) {
        Some(one) => Err(RunRefusal::NotCleared {
            machine: machine.id,
            job: one.job,
            operation: u32::from(one.operation),
            at,
        }),
        None => Ok(()),
    }
}

/// The first pallet of the queue that could start here now.
pub fn next_in_queue<'a>(shop: &'a Shop, machine: &Machine, at: Timestamp) -> Option<&'a Pallet> {
    let cell = shop.cells.get(&machine.cell)?;
    let mut queued = cell.queue.iter().filter_map(|pallet| shop.pallets.get(pallet));
    queued.find(|pallet| can_start(shop, pallet, machine, at))
}

fn can_start(shop: &Shop, pallet: &Pallet, machine: &Machine, at: Timestamp) -> bool {
    let (Some(load), Some(setup)) = (&pallet.load, &pallet.setup) else {
        return false;
    };
    // A pallet at another machine's spindle waits for that one.
    let is_at_another =
        matches!(pallet.position, Position::Spindle { machine: other } if other != machine.id);
    matches!(load.stage, Stage::Ready | Stage::Aborted { .. })
        && !is_at_another
        && may_be_cut(shop, pallet, load, passage(setup, machine, at)).is_ok()
        && (is_attended(shop, machine.cell, at) || is_cleared(shop, pallet, load, machine, at).is_ok())
        && short_tool(&machine.tools, &tool_use(shop, &load.clamped, pallet.cell)).is_none()
}

/// When a run that was started with somebody there is planned to end with nobody there, without being cleared for it.
pub fn runs_on_unattended(shop: &Shop, run: &Run) -> Option<Timestamp> {
    let cell = shop.machines.get(&run.machine)?.cell;
    let ends_at = run.ends_at(run.started_at);
    let is_cleared = not_cleared(shop, &run.clamped, cell, run.machine).is_none();
    (!is_cleared && !is_attended(shop, cell, ends_at)).then_some(ends_at)
}
