use crate::code::{Code, Name};
use crate::ids::CustomerId;
use serde::{Deserialize, Serialize};

/// Quantity tolerance is 0 unless the customer's contract says otherwise.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CustomerFacts {
    pub code: Code,
    pub name: Name,
    /// So many per cent more than ordered may be shipped.
    pub over_percent: u8,
    /// An order counts as full with so many per cent less.
    pub under_percent: u8,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CustomerAdded {
    pub customer: CustomerId,
    pub facts: CustomerFacts,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CustomerChanged {
    pub customer: CustomerId,
    pub facts: CustomerFacts,
}
