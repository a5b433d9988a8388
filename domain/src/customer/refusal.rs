use crate::code::Code;
use crate::ids::CustomerId;
use crate::refusal::refusals;

refusals! {
    pub enum CustomerRefusal {
        Unknown { customer: CustomerId } =>
            (NotFound, "customer.unknown", "", "there is no customer {customer} at this site"),
        Stale { expected: u64, current: u64 } =>
            (Stale, "customer.stale", "", "it was changed meanwhile: you changed version {expected}, it is at version {current}"),
        IdTaken { customer: CustomerId } =>
            (Rule, "customer.id-taken", "", "there is a customer {customer} already"),
        CodeTaken { code: Code, customer: CustomerId } =>
            (Rule, "customer.code-taken", "/code", "the code {code} belongs to the customer {customer}; choose another"),
        TooMany { max: usize } =>
            (Rule, "customer.too-many", "", "this site has {max} customers, which is the most it takes"),
        BadPercent { field: String, percent: u32 } =>
            (Invalid, "customer.bad-percent", "{field}", "{percent} is no tolerance: give 0 to 100 per cent"),
    }
}
