use super::{
    AddPallet, ChangePallet, PALLETS_MAX, Pallet, PalletAdded, PalletChanged, PalletRefusal, Position,
};
use crate::cell::{Cell, CellKind};
use crate::code::Code;
use crate::ids::{CellId, MachineId, PalletId};
use crate::machine::Machine;
use crate::shared_map::SharedMap;

type Pallets = SharedMap<PalletId, Pallet>;
type Machines = SharedMap<MachineId, Machine>;

pub fn add(
    pallets: &Pallets,
    cells: &SharedMap<CellId, Cell>,
    machines: &Machines,
    command: &AddPallet,
) -> Result<PalletAdded, PalletRefusal> {
    if pallets.get(&command.pallet).is_some() {
        return Err(PalletRefusal::IdTaken {
            pallet: command.pallet,
        });
    }
    let cell = cells
        .get(&command.cell)
        .ok_or(PalletRefusal::UnknownCell { cell: command.cell })?;
    code_is_free(pallets, &command.facts.code, command.pallet)?;
    if pallets.len() >= PALLETS_MAX {
        return Err(PalletRefusal::TooMany { max: PALLETS_MAX });
    }
    let position = match (cell.kind, command.position) {
        (CellKind::Standalone, position) => only_place(pallets, machines, cell, position)?,
        (CellKind::Pool { .. }, Some(position)) => {
            has_place(cell, machines, position)?;
            is_free(pallets, cell.id, position)?;
            position
        }
        (CellKind::Pool { .. }, None) => first_free(pallets, cell)?,
    };
    Ok(PalletAdded {
        pallet: command.pallet,
        cell: cell.id,
        facts: command.facts.clone(),
        position,
    })
}

pub fn change(pallets: &Pallets, command: &ChangePallet) -> Result<PalletChanged, PalletRefusal> {
    let pallet = pallets.get(&command.pallet).ok_or(PalletRefusal::Unknown {
        pallet: command.pallet,
    })?;
    match command.expected {
        Some(expected) if expected != pallet.changed_seq => {
            return Err(PalletRefusal::Stale {
                expected,
                current: pallet.changed_seq,
            });
        }
        _ => {}
    }
    code_is_free(pallets, &command.facts.code, pallet.id)?;
    if pallet.setup.is_some() && command.facts.interface != pallet.facts.interface {
        return Err(PalletRefusal::SetupStands { pallet: pallet.id });
    }
    Ok(PalletChanged {
        pallet: pallet.id,
        facts: command.facts.clone(),
    })
}

/// Whether the cell has that place at all.
pub fn has_place(cell: &Cell, machines: &Machines, position: Position) -> Result<(), PalletRefusal> {
    let (load_stations, stands) = match cell.kind {
        CellKind::Pool {
            load_stations,
            stands,
            ..
        } => (load_stations, stands),
        CellKind::Standalone => (0, 0),
    };
    let is_there = match position {
        Position::Spindle { machine } => {
            let known = machines.get(&machine).is_some_and(|known| known.cell == cell.id);
            return if known {
                Ok(())
            } else {
                Err(PalletRefusal::NoSuchMachine {
                    machine,
                    cell: cell.id,
                })
            };
        }
        Position::LoadStation { number } => (1..=load_stations).contains(&number),
        Position::Stand { number } => (1..=stands).contains(&number),
    };
    if is_there {
        Ok(())
    } else {
        Err(PalletRefusal::NoSuchPlace {
            position,
            load_stations,
            stands,
        })
    }
}

fn is_free(pallets: &Pallets, cell: CellId, position: Position) -> Result<(), PalletRefusal> {
    match standing_at(pallets, cell, position) {
        Some(there) => Err(PalletRefusal::PlaceTaken {
            position,
            pallet: there.id,
            code: there.facts.code.clone(),
        }),
        None => Ok(()),
    }
}

pub fn standing_at(pallets: &Pallets, cell: CellId, position: Position) -> Option<&Pallet> {
    pallets
        .values()
        .find(|pallet| pallet.cell == cell && pallet.position == position)
}

/// A standalone machine's table is its pallet: it never stands anywhere else.
fn only_place(
    pallets: &Pallets,
    machines: &Machines,
    cell: &Cell,
    position: Option<Position>,
) -> Result<Position, PalletRefusal> {
    if let Some(there) = pallets.values().find(|pallet| pallet.cell == cell.id) {
        return Err(PalletRefusal::StandaloneHasOne {
            cell: cell.id,
            pallet: there.id,
        });
    }
    if let Some(position) = position {
        has_place(cell, machines, position)?;
    }
    let machine = machines.values().find(|machine| machine.cell == cell.id);
    let machine = machine.ok_or(PalletRefusal::StandaloneHasNoMachine { cell: cell.id })?;
    Ok(Position::Spindle { machine: machine.id })
}

fn first_free(pallets: &Pallets, cell: &Cell) -> Result<Position, PalletRefusal> {
    let CellKind::Pool {
        load_stations,
        stands,
        ..
    } = cell.kind
    else {
        return Err(PalletRefusal::NoPlaceFree { cell: cell.id });
    };
    let stands = (1..=stands).map(|number| Position::Stand { number });
    let load_stations = (1..=load_stations).map(|number| Position::LoadStation { number });
    let mut places = stands.chain(load_stations);
    places
        .find(|place| standing_at(pallets, cell.id, *place).is_none())
        .ok_or(PalletRefusal::NoPlaceFree { cell: cell.id })
}

fn code_is_free(pallets: &Pallets, code: &Code, own: PalletId) -> Result<(), PalletRefusal> {
    let taken = pallets
        .values()
        .find(|pallet| pallet.id != own && pallet.facts.code.is_spoken_like(code));
    match taken {
        Some(pallet) => Err(PalletRefusal::CodeTaken {
            code: code.clone(),
            pallet: pallet.id,
        }),
        None => Ok(()),
    }
}
