use crate::code::Code;
use crate::ids::VendorId;
use crate::refusal::refusals;

refusals! {
    pub enum VendorRefusal {
        Unknown { vendor: VendorId } =>
            (NotFound, "vendor.unknown", "", "there is no vendor {vendor} at this site"),
        Stale { expected: u64, current: u64 } =>
            (Stale, "vendor.stale", "", "it was changed meanwhile: you changed version {expected}, it is at version {current}"),
        IdTaken { vendor: VendorId } =>
            (Rule, "vendor.id-taken", "", "there is a vendor {vendor} already"),
        CodeTaken { code: Code, vendor: VendorId } =>
            (Rule, "vendor.code-taken", "/code", "the code {code} belongs to the vendor {vendor}; choose another"),
        TooMany { max: usize } =>
            (Rule, "vendor.too-many", "", "this site has {max} vendors, which is the most it takes"),
        NoWorkday {} =>
            (Invalid, "vendor.no-workday", "/workdays", "a vendor works on one day of the week at least"),
        TooManyClosedDays { max: usize } =>
            (Invalid, "vendor.too-many-closed-days", "/closed", "at most {max} closed days are kept"),
    }
}
