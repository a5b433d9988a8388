//! Booking what is told, noting what it was against, parking what cannot be.

use super::{
    Act, ActParked, ActSettled, DeviationRecorded, LateRefusal, PARKED_MAX, Parked, ReportAct, SettleAct,
    SettleChoice, Settlement,
};
use crate::command::{Command, Context};
use crate::event::Event;
use crate::floor::{HoldPlaced, OverridableRule, Telling, decide_as_told};
use crate::ids::{HoldId, LoadId, PalletId, RunId};
use crate::load::HoldKind;
use crate::machine::MachineRefusal;
use crate::pallet::PalletRefusal;
use crate::refusal::{Refusal, RefusalKind};
use crate::shop::Shop;
use crate::time::Timestamp;

/// Rules of the site and the ground that an act stands on: of these only a person who has looked can say more.
const WITHOUT_HOLD: [&str; 1] = ["act.not-at-load-station"];

pub fn decide(shop: &Shop, command: &Command, context: &Context<'_>) -> Result<Vec<Event>, Refusal> {
    match command {
        Command::ReportAct(command) => report(shop, command, context.now),
        Command::SettleAct(command) => settle(shop, command, context.now),
        _ => Ok(Vec::new()),
    }
}

fn report(shop: &Shop, command: &ReportAct, now: Timestamp) -> Result<Vec<Event>, Refusal> {
    let refusal = match book(shop, &command.act, command.hold, Telling::reported(now)) {
        Ok(events) => return Ok(events),
        Err(refusal) if is_malformed(&refusal) => return Err(refusal),
        Err(refusal) => refusal,
    };
    let parked = shop.parked.len();
    if parked >= PARKED_MAX {
        let max = PARKED_MAX;
        return Err(LateRefusal::TooManyParked { parked, max }.into());
    }
    let parked = ActParked {
        parked: command.parked,
        act: command.act.clone(),
        hold: command.hold,
        code: refusal.code().to_owned(),
        detail: refusal.to_string(),
    };
    Ok(vec![parked.into()])
}

fn settle(shop: &Shop, command: &SettleAct, now: Timestamp) -> Result<Vec<Event>, Refusal> {
    let parked = command.parked;
    let known = shop.parked.get(&parked).ok_or(LateRefusal::Unknown { parked })?;
    let settled = |how, at| ActSettled {
        parked,
        how,
        at,
        note: command.note.clone(),
    };
    match command.choice {
        SettleChoice::Drop => Ok(vec![settled(Settlement::Dropped, None).into()]),
        SettleChoice::Book { at } => {
            let act = at.map_or_else(|| known.act.clone(), |at| known.act.clone().told_at(at));
            let booked = book(shop, &act, known.hold, Telling::confirmed(now))?;
            let settled = settled(Settlement::Booked, at).into();
            Ok(std::iter::once(settled).chain(booked).collect())
        }
    }
}

/// What speaks against a parked act as things stand now, for whoever has to decide; `None`: nothing any more.
pub fn now_against(shop: &Shop, parked: &Parked, now: Timestamp) -> Option<Refusal> {
    book(shop, &parked.act, parked.hold, Telling::reported(now)).err()
}

/// The act's own events, then a deviation for each rule that it was against, then the hold.
pub fn book(shop: &Shop, act: &Act, hold: HoldId, telling: Telling) -> Result<Vec<Event>, Refusal> {
    let mut events = decide_as_told(shop, &act.command(), &telling)?;
    let deviations = telling.into_deviations();
    if deviations.is_empty() {
        return Ok(events);
    }
    let of = What::of(shop, act, &events);
    events.extend(deviations.iter().map(|refusal| {
        let deviation = DeviationRecorded {
            rule: refusal.code().to_owned(),
            detail: refusal.to_string(),
            act: act.name().to_owned(),
            pallet: of.pallet,
            load: of.load,
            run: of.run,
            at: act.at(),
        };
        Event::from(deviation)
    }));
    let asks_for_hold = deviations.iter().any(asks_for_hold);
    if let (Some(pallet), Some(load), true) = (of.pallet, of.load, asks_for_hold && !of.is_held) {
        let placed = HoldPlaced {
            hold,
            kind: HoldKind::Suspect,
            pallet,
            load,
            at: act.at(),
            note: None,
        };
        events.push(placed.into());
    }
    Ok(events)
}

/// A rule that a planner could have overridden says nothing against the pieces.
fn asks_for_hold(deviation: &Refusal) -> bool {
    let code = deviation.code();
    !OverridableRule::NAMES.contains(&code) && !WITHOUT_HOLD.contains(&code)
}

/// What is wrong in itself, or acts on what there never was, is not true at any time. A time that cannot be read as one
/// is another matter: the act happened, and somebody can say when.
fn is_malformed(refusal: &Refusal) -> bool {
    match refusal {
        Refusal::Machine(MachineRefusal::OutOfRange { .. } | MachineRefusal::InFuture { .. }) => false,
        Refusal::Machine(MachineRefusal::Unknown { .. }) | Refusal::Pallet(PalletRefusal::Unknown { .. }) => {
            true
        }
        refusal => refusal.kind() == RefusalKind::Invalid,
    }
}

/// What an act was done with.
struct What {
    pallet: Option<PalletId>,
    load: Option<LoadId>,
    run: Option<RunId>,
    /// It is held already, before the act or by it.
    is_held: bool,
}

impl What {
    fn of(shop: &Shop, act: &Act, events: &[Event]) -> Self {
        let started = events.iter().find_map(|event| match event {
            Event::RunStarted(started) => Some((started.pallet, Some(started.load))),
            Event::PalletLoaded(loaded) => Some((loaded.pallet, Some(loaded.load))),
            // What was taken off cannot be held on its pallet any more.
            Event::PalletUnloaded(unloaded) => Some((unloaded.pallet, None)),
            _ => None,
        });
        let run = act.run();
        let pallet = act
            .pallet()
            .or_else(|| started.map(|(pallet, _)| pallet))
            .or_else(|| Some(shop.runs.get(&run?)?.pallet));
        let standing = pallet.and_then(|pallet| shop.pallets.get(&pallet)?.load.as_ref());
        let load = started.map_or_else(|| standing.map(|load| load.id), |(_, load)| load);
        let is_placed = events.iter().any(|event| matches!(event, Event::HoldPlaced(_)));
        Self {
            pallet,
            load,
            run,
            is_held: is_placed || standing.is_some_and(|load| load.hold.is_some()),
        }
    }
}
