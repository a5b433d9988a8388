//! Things that a parameter names by code or by id.

use crate::problem::{Code, FieldError, Place, Problem};
use spindlebook_domain::cell::Cell;
use spindlebook_domain::ids::{CellId, MachineId};
use spindlebook_domain::machine::{Machine, MachineRefusal};
use spindlebook_domain::refusal::Refusal;
use spindlebook_domain::shop::Shop;

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

fn unknown(what: &'static str, named: &str) -> Problem {
    let named: String = named.chars().take(40).collect();
    let detail = format!("there is no {what} `{named}` at this site; GET /v1/{what}s lists them");
    let field = FieldError::at(Place::parameter(what), "unknown", detail.clone());
    Problem::new(Code::NotFound, format!("Parameter {what}: {detail}.")).with_field(field)
}
