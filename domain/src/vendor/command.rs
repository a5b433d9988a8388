use super::VendorFacts;
use crate::ids::{Seq, VendorId};

#[derive(Clone, Debug)]
pub struct AddVendor {
    pub vendor: VendorId,
    pub facts: VendorFacts,
}

#[derive(Clone, Debug)]
pub struct ChangeVendor {
    pub vendor: VendorId,
    pub facts: VendorFacts,
    /// The version that the change was made on (If-Match); `None` at the command line.
    pub expected: Option<Seq>,
}
