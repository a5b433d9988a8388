use super::{
    AddCell, CELLS_MAX, Cell, CellAdded, CellCalendarCleared, CellCalendarSet, CellChanged, CellKind,
    CellRefusal, ChangeCell, ClearCellCalendar, SetCellCalendar,
};
use crate::code::Code;
use crate::ids::{CellId, MachineId, PalletId, Seq};
use crate::machine::Machine;
use crate::pallet::{self, Pallet};
use crate::shared_map::SharedMap;
use crate::site::{self, Site};

type Cells = SharedMap<CellId, Cell>;

pub fn add(cells: &Cells, command: &AddCell) -> Result<CellAdded, CellRefusal> {
    has_load_station(command.kind)?;
    if cells.get(&command.cell).is_some() {
        return Err(CellRefusal::IdTaken { cell: command.cell });
    }
    code_is_free(cells, &command.code, command.cell)?;
    if cells.len() >= CELLS_MAX {
        return Err(CellRefusal::TooMany { max: CELLS_MAX });
    }
    Ok(CellAdded {
        cell: command.cell,
        code: command.code.clone(),
        name: command.name.clone(),
        kind: command.kind,
    })
}

pub fn change(
    cells: &Cells,
    machines: &SharedMap<MachineId, Machine>,
    pallets: &SharedMap<PalletId, Pallet>,
    command: &ChangeCell,
) -> Result<CellChanged, CellRefusal> {
    let cell = cells
        .get(&command.cell)
        .ok_or(CellRefusal::Unknown { cell: command.cell })?;
    is_current(command.expected, cell.changed_seq)?;
    has_load_station(command.kind)?;
    code_is_free(cells, &command.code, cell.id)?;
    let in_cell = machines
        .values()
        .filter(|machine| machine.cell == cell.id)
        .count();
    if command.kind == CellKind::Standalone && in_cell > 1 {
        return Err(CellRefusal::StandaloneHasOneMachine {
            cell: cell.id,
            machines: in_cell,
        });
    }
    places_stay(cell, machines, pallets, command.kind)?;
    Ok(CellChanged {
        cell: cell.id,
        code: command.code.clone(),
        name: command.name.clone(),
        kind: command.kind,
    })
}

pub fn set_calendar(
    cells: &Cells,
    site: &Site,
    command: &SetCellCalendar,
) -> Result<CellCalendarSet, CellRefusal> {
    let cell = cells
        .get(&command.cell)
        .ok_or(CellRefusal::Unknown { cell: command.cell })?;
    is_current(command.expected, cell.calendar_version(site))?;
    if !site::has_room(cell.calendar.as_ref(), command.valid_from) {
        return Err(CellRefusal::TooManyCalendars {
            max: site::CALENDAR_VERSIONS_MAX,
        });
    }
    Ok(CellCalendarSet {
        cell: cell.id,
        valid_from: command.valid_from,
        calendar: command.calendar.clone(),
    })
}

pub fn clear_calendar(
    cells: &Cells,
    site: &Site,
    command: &ClearCellCalendar,
) -> Result<CellCalendarCleared, CellRefusal> {
    let cell = cells
        .get(&command.cell)
        .ok_or(CellRefusal::Unknown { cell: command.cell })?;
    is_current(command.expected, cell.calendar_version(site))?;
    if cell.calendar.is_none() {
        return Err(CellRefusal::NoOwnCalendar { cell: cell.id });
    }
    Ok(CellCalendarCleared { cell: cell.id })
}

fn code_is_free(cells: &Cells, code: &Code, own: CellId) -> Result<(), CellRefusal> {
    let taken = cells
        .values()
        .find(|cell| cell.id != own && cell.code.is_spoken_like(code));
    match taken {
        Some(cell) => Err(CellRefusal::CodeTaken {
            code: code.clone(),
            cell: cell.id,
        }),
        None => Ok(()),
    }
}

/// No pallet loses the place that it stands at.
fn places_stay(
    cell: &Cell,
    machines: &SharedMap<MachineId, Machine>,
    pallets: &SharedMap<PalletId, Pallet>,
    kind: CellKind,
) -> Result<(), CellRefusal> {
    let changed = Cell { kind, ..cell.clone() };
    let mut own: Vec<_> = pallets.values().filter(|pallet| pallet.cell == cell.id).collect();
    own.sort_by_key(|pallet| pallet.position);
    if kind == CellKind::Standalone && own.len() > 1 {
        return Err(CellRefusal::StandaloneHasOnePallet {
            cell: cell.id,
            pallets: own.len(),
        });
    }
    let homeless = own
        .into_iter()
        .find(|pallet| pallet::has_place(&changed, machines, pallet.position).is_err());
    match homeless {
        Some(pallet) => Err(CellRefusal::PlaceInUse {
            pallet: pallet.id,
            code: pallet.facts.code.clone(),
            position: pallet.position,
        }),
        None => Ok(()),
    }
}

fn has_load_station(kind: CellKind) -> Result<(), CellRefusal> {
    match kind {
        CellKind::Pool { load_stations: 0, .. } => Err(CellRefusal::NoLoadStation {}),
        CellKind::Pool { .. } | CellKind::Standalone => Ok(()),
    }
}

fn is_current(expected: Option<Seq>, current: Seq) -> Result<(), CellRefusal> {
    match expected {
        Some(expected) if expected != current => Err(CellRefusal::Stale { expected, current }),
        _ => Ok(()),
    }
}
