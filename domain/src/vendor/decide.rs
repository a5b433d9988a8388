use super::{
    AddVendor, CLOSED_DAYS_MAX, ChangeVendor, VENDORS_MAX, Vendor, VendorAdded, VendorChanged, VendorFacts,
    VendorRefusal,
};
use crate::code::Code;
use crate::ids::VendorId;
use crate::shared_map::SharedMap;

type Vendors = SharedMap<VendorId, Vendor>;

pub fn add(vendors: &Vendors, command: &AddVendor) -> Result<VendorAdded, VendorRefusal> {
    is_possible(&command.facts)?;
    if vendors.get(&command.vendor).is_some() {
        return Err(VendorRefusal::IdTaken {
            vendor: command.vendor,
        });
    }
    code_is_free(vendors, &command.facts.code, command.vendor)?;
    if vendors.len() >= VENDORS_MAX {
        return Err(VendorRefusal::TooMany { max: VENDORS_MAX });
    }
    Ok(VendorAdded {
        vendor: command.vendor,
        facts: command.facts.clone(),
    })
}

pub fn change(vendors: &Vendors, command: &ChangeVendor) -> Result<VendorChanged, VendorRefusal> {
    let vendor = vendors.get(&command.vendor).ok_or(VendorRefusal::Unknown {
        vendor: command.vendor,
    })?;
    match command.expected {
        Some(expected) if expected != vendor.changed_seq => {
            return Err(VendorRefusal::Stale {
                expected,
                current: vendor.changed_seq,
            });
        }
        _ => {}
    }
    is_possible(&command.facts)?;
    code_is_free(vendors, &command.facts.code, vendor.id)?;
    Ok(VendorChanged {
        vendor: vendor.id,
        facts: command.facts.clone(),
    })
}

fn is_possible(facts: &VendorFacts) -> Result<(), VendorRefusal> {
    if facts.workdays.is_empty() {
        return Err(VendorRefusal::NoWorkday {});
    }
    if facts.closed.len() > CLOSED_DAYS_MAX {
        return Err(VendorRefusal::TooManyClosedDays { max: CLOSED_DAYS_MAX });
    }
    Ok(())
}

fn code_is_free(vendors: &Vendors, code: &Code, own: VendorId) -> Result<(), VendorRefusal> {
    let taken = vendors
        .values()
        .find(|vendor| vendor.id != own && vendor.facts.code.is_spoken_like(code));
    match taken {
        Some(vendor) => Err(VendorRefusal::CodeTaken {
            code: code.clone(),
            vendor: vendor.id,
        }),
        None => Ok(()),
    }
}
