//! Customers: whoever orders, and how much more or less than ordered they take.

mod command;
mod decide;
mod event;
mod refusal;
#[cfg(test)]
mod tests;

pub use command::{AddCustomer, ChangeCustomer};
pub(crate) use decide::{add, change};
pub use event::{CustomerAdded, CustomerChanged, CustomerFacts};
pub use refusal::CustomerRefusal;

use crate::ids::{CustomerId, Seq};
use crate::inspection::InspectionRule;
use serde::{Deserialize, Serialize};

pub const CUSTOMERS_MAX: usize = 10_000;

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Customer {
    pub id: CustomerId,
    pub facts: CustomerFacts,
    /// What it asks of inspections.
    pub inspection: Vec<InspectionRule>,
    pub inspection_changed_seq: Seq,
    pub changed_seq: Seq,
}

impl Customer {
    /// The most and the least that may be shipped on so many ordered pieces. Rounded to the customer's favour.
    pub fn may_ship(&self, ordered: u32) -> std::ops::RangeInclusive<u32> {
        let part = |percent: u8| u64::from(ordered) * u64::from(percent) / 100;
        let more = u32::try_from(part(self.facts.over_percent)).unwrap_or(u32::MAX);
        let less = u32::try_from(part(self.facts.under_percent)).unwrap_or(u32::MAX);
        ordered.saturating_sub(less)..=ordered.saturating_add(more)
    }
}
