use super::receive::in_range;
use super::{
    AddMachine, ChangeMachine, Condition, MACHINES_MAX, Machine, MachineAdded, MachineChanged,
    MachineRefusal, MachineSetDown, MachineSetUp, MachineToolsSet, Placement, SetMachineDown,
    SetMachineTools, SetMachineUp, TOOLS_MAX,
};
use crate::cell::{self, AddCell, Cell, CellAdded, CellKind};
use crate::code::Code;
use crate::ids::{CellId, MachineId};
use crate::refusal::Refusal;
use crate::shared_map::SharedMap;
use crate::time::Timestamp;

type Machines = SharedMap<MachineId, Machine>;

/// A standalone machine brings its cell along: two entries, both or none.
pub fn add(
    machines: &Machines,
    cells: &SharedMap<CellId, Cell>,
    command: &AddMachine,
) -> Result<(Option<CellAdded>, MachineAdded), Refusal> {
    if machines.get(&command.machine).is_some() {
        return Err(MachineRefusal::IdTaken {
            machine: command.machine,
        }
        .into());
    }
    code_is_free(machines, &command.code, command.machine)?;
    if machines.len() >= MACHINES_MAX {
        return Err(MachineRefusal::TooMany { max: MACHINES_MAX }.into());
    }
    let (new_cell, cell) = match command.placement {
        Placement::Standalone(cell) => {
            let (code, name) = (command.code.clone(), command.name.clone());
            let added = cell::add(
                cells,
                &AddCell {
                    cell,
                    code,
                    name,
                    kind: CellKind::Standalone,
                },
            )?;
            (Some(added), cell)
        }
        Placement::In(cell) => {
            let known = cells.get(&cell).ok_or(MachineRefusal::UnknownCell { cell })?;
            if known.kind == CellKind::Standalone && machines.values().any(|machine| machine.cell == cell) {
                return Err(MachineRefusal::CellIsStandalone { cell }.into());
            }
            (None, cell)
        }
    };
    let added = MachineAdded {
        machine: command.machine,
        cell,
        code: command.code.clone(),
        name: command.name.clone(),
        silent_after_s: command.silent_after_s,
    };
    Ok((new_cell, added))
}

pub fn change(machines: &Machines, command: &ChangeMachine) -> Result<MachineChanged, MachineRefusal> {
    let machine = known(machines, command.machine)?;
    match command.expected {
        Some(expected) if expected != machine.changed_seq => {
            return Err(MachineRefusal::Stale {
                expected,
                current: machine.changed_seq,
            });
        }
        _ => {}
    }
    code_is_free(machines, &command.code, machine.id)?;
    Ok(MachineChanged {
        machine: machine.id,
        code: command.code.clone(),
        name: command.name.clone(),
        silent_after_s: command.silent_after_s,
    })
}

pub fn set_down(
    machines: &Machines,
    command: &SetMachineDown,
    now: Timestamp,
) -> Result<MachineSetDown, MachineRefusal> {
    let machine = known(machines, command.machine)?;
    in_range(command.at, now, || "/at".to_owned())?;
    if let Condition::Down { since, .. } = machine.condition {
        return Err(MachineRefusal::AlreadyDown {
            machine: machine.id,
            since,
        });
    }
    after_last_change(machine, command.at)?;
    Ok(MachineSetDown {
        machine: machine.id,
        at: command.at,
        reason: command.reason,
        note: command.note.clone(),
    })
}

pub fn set_up(
    machines: &Machines,
    command: &SetMachineUp,
    now: Timestamp,
) -> Result<MachineSetUp, MachineRefusal> {
    let machine = known(machines, command.machine)?;
    in_range(command.at, now, || "/at".to_owned())?;
    if !matches!(machine.condition, Condition::Down { .. }) {
        return Err(MachineRefusal::NotDown { machine: machine.id });
    }
    after_last_change(machine, command.at)?;
    Ok(MachineSetUp {
        machine: machine.id,
        at: command.at,
    })
}

pub fn set_tools(machines: &Machines, command: &SetMachineTools) -> Result<MachineToolsSet, MachineRefusal> {
    let machine = known(machines, command.machine)?;
    match command.expected {
        Some(expected) if expected != machine.tools_changed_seq => {
            return Err(MachineRefusal::Stale {
                expected,
                current: machine.tools_changed_seq,
            });
        }
        _ => {}
    }
    if command.tools.len() > TOOLS_MAX {
        return Err(MachineRefusal::TooManyTools { max: TOOLS_MAX });
    }
    Ok(MachineToolsSet {
        machine: machine.id,
        tools: command.tools.clone(),
    })
}

pub fn known(machines: &Machines, machine: MachineId) -> Result<&Machine, MachineRefusal> {
    machines.get(&machine).ok_or(MachineRefusal::Unknown { machine })
}

fn after_last_change(machine: &Machine, at: Timestamp) -> Result<(), MachineRefusal> {
    match machine.condition.since() {
        Some(last_change) if at <= last_change => Err(MachineRefusal::BeforeLastChange { at, last_change }),
        _ => Ok(()),
    }
}

fn code_is_free(machines: &Machines, code: &Code, own: MachineId) -> Result<(), MachineRefusal> {
    let taken = machines
        .values()
        .find(|machine| machine.id != own && machine.code.is_spoken_like(code));
    match taken {
        Some(machine) => Err(MachineRefusal::CodeTaken {
            code: code.clone(),
            machine: machine.id,
        }),
        None => Ok(()),
    }
}
