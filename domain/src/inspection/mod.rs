//! Inspection: what customers ask of it, what is decided about held loads and by whose authority, and results that were
//! wrong.

mod apply;
mod command;
mod dispose;
mod event;
mod lapse;
mod nests;
mod pieces;
mod refusal;
mod reverse;
mod rule;
mod set_rules;
#[cfg(test)]
mod tests;
mod time;

pub use command::{DisposeHold, GiveReference, ReverseInspection, SetCustomerInspection};
pub use event::{
    ApprovalGiven, CustomerInspectionSet, Decided, DispositionProposed, FirstArticleDue, HoldDisposed,
    InspectionReversed, OrderApprovalSet, Unjudged,
};
pub use lapse::{Lapse, lapse};
pub use nests::NestsApproved;
pub use pieces::{held_in_inspection, undecided};
pub use refusal::{DispositionRefusal, InspectionRuleRefusal};
pub use rule::{InspectionRule, NightPolicy, Occasion, rule_of};
pub(crate) use time::shift_start;

use crate::command::{Command, Context};
use crate::event::Event;
use crate::refusal::Refusal;
use crate::run::named_values;
use crate::shop::Shop;

pub(crate) use apply::apply;

/// Far more than the operations that one customer speaks about.
pub const RULES_MAX: usize = 500;
pub const MONTHS_MAX: u16 = 600;
/// Results of a job that can still be reversed; older ones stay in the ledger.
pub const INSPECTIONS_MAX: usize = 500;

named_values! {
    /// As what somebody decided.
    pub enum Authority {
        Inspector = "inspector",
        Planner = "planner",
        /// A planner while no inspector was there, as the customer agreed.
        Supervisor = "supervisor",
        /// The command line of the service.
        Service = "service",
    }
}

/// Commands of other topics give nothing.
pub(crate) fn decide(shop: &Shop, command: &Command, context: &Context<'_>) -> Result<Vec<Event>, Refusal> {
    let one: Event = match command {
        Command::DisposeHold(command) => dispose::dispose(shop, command, context)?,
        Command::GiveReference(command) => dispose::give_reference(shop, command, context)?.into(),
        Command::ReverseInspection(command) => reverse::reverse(shop, command, context.now)?.into(),
        Command::SetCustomerInspection(command) => set_rules::set(shop, command)?.into(),
        _ => return Ok(Vec::new()),
    };
    Ok(vec![one])
}

macro_rules! inspection_commands {
    () => {
        Command::DisposeHold(_)
            | Command::GiveReference(_)
            | Command::ReverseInspection(_)
            | Command::SetCustomerInspection(_)
    };
}
pub(crate) use inspection_commands;

macro_rules! inspection_events {
    () => {
        Event::HoldDisposed(_)
            | Event::DispositionProposed(_)
            | Event::InspectionReversed(_)
            | Event::CustomerInspectionSet(_)
            | Event::OrderApprovalSet(_)
            | Event::FirstArticleDue(_)
    };
}
pub(crate) use inspection_events;
