use super::CustomerFacts;
use crate::ids::{CustomerId, Seq};

#[derive(Clone, Debug)]
pub struct AddCustomer {
    pub customer: CustomerId,
    pub facts: CustomerFacts,
}

#[derive(Clone, Debug)]
pub struct ChangeCustomer {
    pub customer: CustomerId,
    pub facts: CustomerFacts,
    /// The version that the change was made on (If-Match); `None` at the command line.
    pub expected: Option<Seq>,
}
