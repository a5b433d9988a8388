//! It happened at another time. The order of acts stays as it is; only stretches of time change.

use super::decide::not_for_this;
use super::event::RetimedStart;
use super::{Correct, CorrectionRefusal, Edge, RETIME_MAX_S, RunRetimed};
use crate::command::Context;
use crate::event::Event;
use crate::ids::{MachineId, PalletId, RunId};
use crate::machine;
use crate::pool::PalletState;
use crate::refusal::Refusal;
use crate::shop::Shop;
use crate::stretches::{DayMarks, Layer, RowKey, StretchDays};
use crate::time::{Timestamp, US_PER_SECOND};
use std::collections::BTreeSet;

const US_PER_DAY: i64 = 86_400 * US_PER_SECOND;

/// What an entry says of the time of a run; the newest correction, where it is one.
struct Said {
    run: RunId,
    machine: MachineId,
    pallet: PalletId,
    edge: Edge,
    at: Timestamp,
    start: Option<RetimedStart>,
    reason: Option<String>,
}

pub fn retime(
    shop: &Shop,
    command: &Correct,
    at: Timestamp,
    context: &Context<'_>,
) -> Result<RunRetimed, Refusal> {
    let Some(said) = said(&command.event) else {
        return Err(not_for_this(command, "another time"));
    };
    machine::in_range(at, context.now, || "/at".to_owned())?;
    if at == said.at {
        return Err(CorrectionRefusal::SameTime { at }.into());
    }
    if at.since_us(said.at).abs() > RETIME_MAX_S * US_PER_SECOND {
        return Err(CorrectionRefusal::TooFar {
            at,
            was: said.at,
            days: u32::try_from(RETIME_MAX_S / 86_400).unwrap_or(u32::MAX),
        }
        .into());
    }
    if let Some(between) = told_between(context.stretches, &said, at) {
        return Err(CorrectionRefusal::Between {
            at,
            was: said.at,
            between,
        }
        .into());
    }
    Ok(RunRetimed {
        corrects: command.corrects,
        run: said.run,
        machine: said.machine,
        pallet: said.pallet,
        edge: said.edge,
        was: said.at,
        at,
        pallet_state: pallet_state(shop, context.stretches, &said),
        start: said.start,
        reason: said.reason,
        note: command.note.clone(),
    })
}

fn said(event: &Event) -> Option<Said> {
    let (run, machine, pallet, edge, at) = match event {
        Event::RunStarted(event) => (event.run, event.machine, event.pallet, Edge::Start, event.at),
        Event::RunPaused(event) => (event.run, event.machine, event.pallet, Edge::Pause, event.at),
        Event::RunResumed(event) => (event.run, event.machine, event.pallet, Edge::Resume, event.at),
        Event::RunFinished(event) => (event.run, event.machine, event.pallet, Edge::Finish, event.at),
        Event::RunAborted(event) => (event.run, event.machine, event.pallet, Edge::Abort, event.at),
        Event::RunRetimed(event) => (event.run, event.machine, event.pallet, event.edge, event.at),
        _ => return None,
    };
    let start = match event {
        Event::RunStarted(event) => Some(RetimedStart {
            purpose: event.purpose,
            cycle_s: event.cycle_s,
        }),
        Event::RunRetimed(event) => event.start,
        _ => None,
    };
    let reason = match event {
        Event::RunPaused(event) => Some(event.reason.to_string()),
        Event::RunRetimed(event) => event.reason.clone(),
        _ => None,
    };
    Some(Said {
        run,
        machine,
        pallet,
        edge,
        at,
        start,
        reason,
    })
}

/// The days over which the time is moved, of the machine's runs and of the pallet.
pub fn rows(event: &Event, at: Timestamp) -> BTreeSet<RowKey> {
    let Some(said) = said(event) else {
        return BTreeSet::new();
    };
    let (first, last) = (said.at.min(at), said.at.max(at));
    if last.since_us(first) > RETIME_MAX_S * US_PER_SECOND {
        return BTreeSet::new();
    }
    // The day before holds what the pallet was before the first instant of a day.
    (first.utc_day() - 1..=last.utc_day())
        .flat_map(|day| {
            [
                (said.machine.into(), Layer::Runs, day),
                (said.pallet.into(), Layer::Pallets, day),
            ]
        })
        .collect()
}

/// The first thing told of the machine or of the pallet between the two times.
fn told_between(stretches: &StretchDays, said: &Said, at: Timestamp) -> Option<Timestamp> {
    let (first, last) = (said.at.min(at), said.at.max(at));
    let days = first.utc_day()..=last.utc_day();
    // What was told of the very instant would be written over.
    let is_between = |told: &Timestamp| (first < *told && *told < last) || *told == at;
    let runs = days.clone().flat_map(|day| {
        let row = stretches.get(&(said.machine.into(), Layer::Runs, day));
        row.map(DayMarks::run_instants).unwrap_or_default()
    });
    let pallets = days.flat_map(|day| {
        let row = stretches.get(&(said.pallet.into(), Layer::Pallets, day));
        row.map(DayMarks::pallet_states).unwrap_or_default()
    });
    let pallets = pallets.map(|(told, _)| told);
    runs.chain(pallets).filter(is_between).min()
}

/// The pallet's state just before and from the told instant on.
fn pallet_state(shop: &Shop, stretches: &StretchDays, said: &Said) -> Option<(PalletState, PalletState)> {
    if matches!(said.edge, Edge::Pause | Edge::Resume) || shop.pallets.get(&said.pallet).is_none() {
        return None;
    }
    let day = said.at.us().div_euclid(US_PER_DAY);
    let told: Vec<_> = (day - 1..=day)
        .filter_map(|day| stretches.get(&(said.pallet.into(), Layer::Pallets, day)))
        .flat_map(DayMarks::pallet_states)
        .collect();
    let before = told.iter().rfind(|(at, _)| *at < said.at);
    let from = told.iter().rfind(|(at, _)| *at == said.at)?;
    let usual = if said.edge == Edge::Start {
        PalletState::Ready
    } else {
        PalletState::InRun
    };
    Some((before.map_or(usual, |(_, state)| *state), from.1))
}
