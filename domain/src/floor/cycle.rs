//! What happens to a run after its start.

use super::act::{Telling, after_last, is_in_time_on, known_machine};
use super::first_piece::{Passage, wanted_of_load};
use super::in_process::is_due;
use super::{
    AbortRun, FinishRun, HoldPlaced, PauseRun, ResumeRun, RunAborted, RunFinished, RunPaused, RunRefusal,
    RunResumed,
};
use crate::event::Event;
use crate::ids::RunId;
use crate::load::HoldKind;
use crate::refusal::Refusal;
use crate::run::{Run, RunState};
use crate::shop::Shop;
use crate::time::Timestamp;

pub fn pause(shop: &Shop, command: &PauseRun, telling: &Telling) -> Result<RunPaused, Refusal> {
    let run = at_that_time(shop, command.run, command.at, telling)?;
    is_running(run)?;
    Ok(RunPaused {
        run: run.id,
        machine: run.machine,
        pallet: run.pallet,
        at: command.at,
        reason: command.reason,
    })
}

pub fn resume(shop: &Shop, command: &ResumeRun, telling: &Telling) -> Result<RunResumed, Refusal> {
    let run = at_that_time(shop, command.run, command.at, telling)?;
    match run.state {
        RunState::Paused { .. } => Ok(RunResumed {
            run: run.id,
            machine: run.machine,
            pallet: run.pallet,
            at: command.at,
        }),
        _ => Err(RunRefusal::NotPaused {
            run: run.id,
            state: in_words(run),
        }
        .into()),
    }
}

/// A load whose first piece has to be looked at is held by the same command: there is no moment at which it could go on.
pub fn finish(shop: &Shop, command: &FinishRun, telling: &Telling) -> Result<Vec<Event>, Refusal> {
    let run = at_that_time(shop, command.run, command.at, telling)?;
    is_running(run)?;
    let finished = RunFinished {
        run: run.id,
        machine: run.machine,
        pallet: run.pallet,
        at: command.at,
    };
    let is_held = shop
        .pallets
        .get(&run.pallet)
        .and_then(|pallet| pallet.load.as_ref())
        .is_some_and(|load| load.hold.is_some());
    let wanted = wanted_of_load(shop, &run.clamped, Passage::of(run));
    let in_process = is_due(shop, &run.clamped).then_some(HoldKind::InProcess);
    let wanted = wanted.or(in_process).filter(|_| !is_held);
    let placed = wanted.map(|kind| HoldPlaced {
        hold: command.hold,
        kind,
        pallet: run.pallet,
        load: run.load,
        at: command.at,
        note: None,
    });
    Ok(std::iter::once(Event::from(finished))
        .chain(placed.map(Event::from))
        .collect())
}

pub fn abort(shop: &Shop, command: &AbortRun, telling: &Telling) -> Result<RunAborted, Refusal> {
    let run = at_that_time(shop, command.run, command.at, telling)?;
    if !run.is_open() {
        let state = in_words(run);
        return Err(RunRefusal::NotRunning { run: run.id, state }.into());
    }
    Ok(RunAborted {
        run: run.id,
        machine: run.machine,
        pallet: run.pallet,
        at: command.at,
        reason: command.reason,
        note: command.note.clone(),
    })
}

fn at_that_time<'a>(
    shop: &'a Shop,
    run: RunId,
    at: Timestamp,
    telling: &Telling,
) -> Result<&'a Run, Refusal> {
    let run = shop.runs.get(&run).ok_or(RunRefusal::Unknown { run })?;
    let machine = known_machine(shop, run.machine)?;
    is_in_time_on(machine, shop.pallets.get(&run.pallet), at, telling)?;
    let paused_at = match run.state {
        RunState::Paused { at, .. } => Some(at),
        RunState::Running | RunState::Finished { .. } | RunState::Aborted { .. } => None,
    };
    let last = paused_at.max(Some(run.started_at));
    after_last(at, last, || "this run".to_owned())?;
    Ok(run)
}

fn is_running(run: &Run) -> Result<(), RunRefusal> {
    match run.state {
        RunState::Running => Ok(()),
        _ => Err(RunRefusal::NotRunning {
            run: run.id,
            state: in_words(run),
        }),
    }
}

fn in_words(run: &Run) -> String {
    match run.state {
        RunState::Running => "running".to_owned(),
        RunState::Paused { at, reason } => format!("paused since {at} ({reason}); resume it first"),
        RunState::Finished { at } => format!("finished at {at} already"),
        RunState::Aborted { at, reason } => format!("aborted at {at} already ({reason})"),
    }
}
