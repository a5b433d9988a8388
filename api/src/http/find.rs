//! Things that a parameter names by code or by id.

use crate::problem::{Code, FieldError, Place, Problem};
use spindlebook_domain::cell::Cell;
use spindlebook_domain::customer::{Customer, CustomerRefusal};
use spindlebook_domain::fixture::{Fixture, FixtureRefusal};
use spindlebook_domain::ids::{CellId, CustomerId, FixtureId, MachineId, PalletId, PartId, VendorId};
use spindlebook_domain::machine::{Machine, MachineRefusal};
use spindlebook_domain::pallet::{Pallet, PalletRefusal};
use spindlebook_domain::part::{Part, PartRefusal};
use spindlebook_domain::refusal::Refusal;
use spindlebook_domain::shop::Shop;
use spindlebook_domain::vendor::{Vendor, VendorRefusal};

pub fn cell<'a>(shop: &'a Shop, named: &str) -> Result<&'a Cell, Problem> {
    let by_id = named.parse::<CellId>().ok().map(|id| shop.cells.get(&id));
    let found = by_id.unwrap_or_else(|| shop.cell_by_code(named));
    found.ok_or_else(|| unknown("cell", named))
}

pub fn machine<'a>(shop: &'a Shop, named: &str) -> Result<&'a Machine, Problem> {
    let by_id = named.parse::<MachineId>().ok().map(|id| shop.machines.get(&id));
    let found = by_id.unwrap_or_else(|| shop.machine_by_code(named));
    found.ok_or_else(|| unknown("machine", named))
}

/// The machine of a path.
pub fn machine_at(shop: &Shop, machine: MachineId) -> Result<&Machine, Problem> {
    let unknown = || Problem::from(Refusal::from(MachineRefusal::Unknown { machine }));
    shop.machines.get(&machine).ok_or_else(unknown)
}

/// The cell of a path.
pub fn cell_at(shop: &Shop, cell: CellId) -> Result<&Cell, Problem> {
    let unknown = || {
        Problem::from(Refusal::from(spindlebook_domain::cell::CellRefusal::Unknown {
            cell,
        }))
    };
    shop.cells.get(&cell).ok_or_else(unknown)
}

macro_rules! thing_at {
    ($($(#[$doc:meta])* $name:ident, $things:ident, $thing:ident: $id:ty => $refusal:ident as $kind:ty;)+) => {$(
        $(#[$doc])*
        pub fn $name(shop: &Shop, $thing: $id) -> Result<&$kind, Problem> {
            let unknown = || Problem::from(Refusal::from($refusal::Unknown { $thing }));
            shop.$things.get(&$thing).ok_or_else(unknown)
        }
    )+};
}

thing_at! {
    /// The pallet of a path.
    pallet_at, pallets, pallet: PalletId => PalletRefusal as Pallet;
    /// The fixture of a path.
    fixture_at, fixtures, fixture: FixtureId => FixtureRefusal as Fixture;
    /// The customer of a path.
    customer_at, customers, customer: CustomerId => CustomerRefusal as Customer;
    /// The vendor of a path.
    vendor_at, vendors, vendor: VendorId => VendorRefusal as Vendor;
    /// The part of a path.
    part_at, parts, part: PartId => PartRefusal as Part;
}

fn unknown(what: &'static str, named: &str) -> Problem {
    let named: String = named.chars().take(40).collect();
    let detail = format!("there is no {what} `{named}` at this site; GET /v1/{what}s lists them");
    let field = FieldError::at(Place::parameter(what), "unknown", detail.clone());
    Problem::new(Code::NotFound, format!("Parameter {what}: {detail}.")).with_field(field)
}
