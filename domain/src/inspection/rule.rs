//! What a customer asks of inspections, and what holds where a customer asks for nothing.

use crate::customer::Customer;
use crate::ids::{JobId, PartId};
use crate::order::Order;
use crate::part::Machining;
use crate::run::named_values;
use crate::shop::Shop;
use serde::{Deserialize, Serialize};

named_values! {
    /// After what a first piece is looked at again before more are cut. An approval names its setup (a copy of a fixture
    /// from mount to unmount), its revision and its machine, and is good for those only: that is not to be chosen.
    pub enum Occasion {
        NewJobOperation = "new_job_operation",
        NewSetup = "new_setup",
        NewRevision = "new_revision",
        /// By the calendar of the cell.
        PerShift = "per_shift",
        FixtureChange = "fixture_change",
        /// A tool of the operation was replaced in the machine.
        ToolChange = "tool_change",
    }

    /// Who decides while no inspector is there.
    pub enum NightPolicy {
        /// A planner may accept, and the record says so.
        Supervisor = "supervisor",
        /// What was cut is held until an inspector's hours begin.
        TillDay = "till_day",
    }
}

/// What a customer asks for: of all parts, of one, or of one operation.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct InspectionRule {
    /// `None`: every part.
    pub part: Option<PartId>,
    /// `None`: every operation.
    pub operation: Option<u16>,
    /// Empty: as the routing says.
    pub first_piece: Vec<Occasion>,
    /// A part that was not finished for so long gets the formal inspection again.
    pub first_article_after_months: Option<u16>,
    /// Of so many pieces that were cut one load is looked at.
    pub in_process_every: Option<u32>,
    /// A setup is approved when a piece of each nest is.
    pub every_nest: bool,
    /// Whoever loaded or ran a piece does not accept it.
    pub independent: bool,
    /// Nothing is used as it is without the customer's reference.
    pub customer_approval_needed: bool,
    pub night: Option<NightPolicy>,
}

impl InspectionRule {
    fn matches(&self, part: PartId, operation: Option<u16>) -> bool {
        self.part.is_none_or(|own| own == part) && self.operation.is_none_or(|own| operation == Some(own))
    }

    /// Whether a first piece is wanted at all.
    pub fn wants_first_piece(&self, machining: &Machining) -> bool {
        machining.first_piece || !self.first_piece.is_empty()
    }

    pub fn is_renewed_by(&self, occasion: Occasion) -> bool {
        if self.first_piece.is_empty() {
            return occasion == Occasion::NewJobOperation;
        }
        self.first_piece.contains(&occasion)
    }
}

/// The rule that says most exactly what it is about.
pub fn of_part(customer: &Customer, part: PartId, operation: Option<u16>) -> Option<&InspectionRule> {
    let all = customer.inspection.iter();
    all.filter(|rule| rule.matches(part, operation))
        .max_by_key(|rule| (rule.part.is_some(), rule.operation.is_some()))
}

pub fn customer_of<'a>(shop: &'a Shop, order: &Order) -> Option<&'a Customer> {
    shop.customers.get(&order.customer?)
}

/// What is asked of an operation of a job.
pub fn rule_of(shop: &Shop, job: JobId, operation: u16) -> InspectionRule {
    let found = shop.jobs.get(&job).and_then(|job| {
        let customer = customer_of(shop, shop.orders.get(&job.order)?)?;
        of_part(customer, job.part, Some(operation))
    });
    found.cloned().unwrap_or_default()
}

/// Whether the customer has to be asked before a piece of this job is used as it is.
pub fn asks_customer(shop: &Shop, job: JobId, operation: u16) -> bool {
    let order = shop.jobs.get(&job).and_then(|job| shop.orders.get(&job.order));
    order.is_some_and(|order| order.customer_approval_needed)
        || rule_of(shop, job, operation).customer_approval_needed
}
