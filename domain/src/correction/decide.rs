//! Who may put something right, and what kind of correction an entry takes.

use super::{Change, Correct, CorrectionRefusal, QUICK_S, recount, retime, withdraw};
use crate::actor::Actor;
use crate::command::Context;
use crate::event::Event;
use crate::refusal::Refusal;
use crate::role::Role;
use crate::shop::Shop;

pub fn decide(shop: &Shop, command: &Correct, context: &Context<'_>) -> Result<Vec<Event>, Refusal> {
    may_correct(shop, command, context)?;
    let corrects = command.corrects;
    if let Some(by) = shop.corrected.get(&corrects) {
        return Err(CorrectionRefusal::Corrected { corrects, by: *by }.into());
    }
    let event: Event = match &command.change {
        Change::Withdraw => withdraw::withdraw(shop, command)?.into(),
        Change::Time(at) => retime::retime(shop, command, *at, context)?.into(),
        Change::Counts(counts) => recount::recount(shop, command, counts, context)?.into(),
    };
    Ok(vec![event])
}

/// Whoever told it may say at once that it was wrong; what others told, and what has stood for a while, is the lead's.
fn may_correct(shop: &Shop, command: &Correct, context: &Context<'_>) -> Result<(), CorrectionRefusal> {
    let is_quick = context.now <= command.recorded_at.plus_s(QUICK_S);
    let is_own = command.told_by == context.actor;
    let is_lead = match context.actor {
        Actor::Person(id) | Actor::Client(id) => {
            let principal = shop.principals.get(&id);
            principal.is_some_and(|principal| principal.roles.contains(&Role::Planner))
        }
        Actor::System => true,
    };
    if is_lead || (is_own && is_quick) {
        return Ok(());
    }
    Err(CorrectionRefusal::NotYours {
        corrects: command.corrects,
        minutes: u32::try_from(QUICK_S / 60).unwrap_or(u32::MAX),
    })
}

pub fn not_for_this(command: &Correct, change: &str) -> Refusal {
    CorrectionRefusal::WrongChange {
        corrects: command.corrects,
        kind: command.event.kind().to_owned(),
        change: change.to_owned(),
    }
    .into()
}
