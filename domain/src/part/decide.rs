use super::{
    AddPart, AddRevision, CHECKS_PER_CLEARANCE_MAX, ChangePart, CycleTime, FIXTURES_PER_OPERATION_MAX,
    Machining, OPERATION_NUMBER_MAX, OPERATIONS_MAX, Operation, PARTS_MAX, PLACES_MAX, Part, PartAdded,
    PartChanged, PartRefusal, Place, REVISIONS_MAX, RevisionAdded, Routing, RoutingSet, SetRouting,
    TOOLS_PER_PLACE_MAX, Work,
};
use crate::cell::Cell;
use crate::code::Code;
use crate::fixture::Fixture;
use crate::ids::{CellId, FixtureId, MachineId, PartId, VendorId};
use crate::machine::Machine;
use crate::shared_map::SharedMap;
use crate::vendor::Vendor;

type Parts = SharedMap<PartId, Part>;

/// The things that a routing names.
#[derive(Clone, Copy)]
pub struct Known<'a> {
    pub cells: &'a SharedMap<CellId, Cell>,
    pub machines: &'a SharedMap<MachineId, Machine>,
    pub fixtures: &'a SharedMap<FixtureId, Fixture>,
    pub vendors: &'a SharedMap<VendorId, Vendor>,
}

pub fn add(parts: &Parts, command: &AddPart) -> Result<(PartAdded, RevisionAdded), PartRefusal> {
    if parts.get(&command.part).is_some() {
        return Err(PartRefusal::IdTaken { part: command.part });
    }
    code_is_free(parts, &command.code, command.part)?;
    if parts.len() >= PARTS_MAX {
        return Err(PartRefusal::TooMany { max: PARTS_MAX });
    }
    let added = PartAdded {
        part: command.part,
        code: command.code.clone(),
        name: command.name.clone(),
    };
    let revision = RevisionAdded {
        part: command.part,
        facts: command.revision.clone(),
    };
    Ok((added, revision))
}

pub fn change(parts: &Parts, command: &ChangePart) -> Result<PartChanged, PartRefusal> {
    let part = known(parts, command.part)?;
    is_current(command.expected, part.changed_seq)?;
    code_is_free(parts, &command.code, part.id)?;
    Ok(PartChanged {
        part: part.id,
        code: command.code.clone(),
        name: command.name.clone(),
    })
}

pub fn add_revision(parts: &Parts, command: &AddRevision) -> Result<RevisionAdded, PartRefusal> {
    let part = known(parts, command.part)?;
    if part.revision(&command.facts.revision).is_some() {
        return Err(PartRefusal::RevisionTaken {
            part: part.id,
            revision: command.facts.revision.clone(),
        });
    }
    if part.revisions.len() >= REVISIONS_MAX {
        return Err(PartRefusal::TooManyRevisions { max: REVISIONS_MAX });
    }
    Ok(RevisionAdded {
        part: part.id,
        facts: command.facts.clone(),
    })
}

pub fn set_routing(parts: &Parts, shop: Known<'_>, command: &SetRouting) -> Result<RoutingSet, PartRefusal> {
    let part = known(parts, command.part)?;
    let revision = part.revision(&command.revision);
    let revision = revision.ok_or_else(|| PartRefusal::UnknownRevision {
        part: part.id,
        revision: command.revision.clone(),
    })?;
    is_current(command.expected, part.changed_seq)?;
    is_routing(shop, &command.routing)?;
    Ok(RoutingSet {
        part: part.id,
        revision: revision.facts.revision.clone(),
        routing: command.routing.clone(),
    })
}

/// Whether the shop can work by it.
pub fn is_routing(shop: Known<'_>, routing: &Routing) -> Result<(), PartRefusal> {
    let operations = &routing.operations;
    if operations.is_empty() {
        return Err(PartRefusal::NoOperation {});
    }
    if operations.len() > OPERATIONS_MAX {
        return Err(PartRefusal::TooManyOperations { max: OPERATIONS_MAX });
    }
    let mut before = 0;
    for (index, operation) in operations.iter().enumerate() {
        number_goes_up(index, operation.number, before)?;
        before = operation.number;
        is_possible(shop, index, operation)?;
    }
    Ok(())
}

/// The first operation that loads more pieces into the fixture than so many nests.
pub fn loads_into(parts: &Parts, fixture: FixtureId, nests: u32) -> Option<(PartId, Code, (u16, u32))> {
    let all = parts.values().flat_map(|part| {
        let revisions = part.revisions.iter();
        revisions.map(move |revision| (part.id, revision))
    });
    all.filter_map(|(part, revision)| {
        let operations = &revision.routing.as_ref()?.operations;
        let too_many = operations.iter().find_map(|operation| match &operation.work {
            Work::Machining(work) if work.fixtures.contains(&fixture) && work.pieces_per_load > nests => {
                Some((operation.number, work.pieces_per_load))
            }
            Work::Machining(_) | Work::Manual(_) => None,
        })?;
        Some((part, revision.facts.revision.clone(), too_many))
    })
    .min()
}

fn number_goes_up(index: usize, number: u16, before: u16) -> Result<(), PartRefusal> {
    if !(1..=OPERATION_NUMBER_MAX).contains(&number) {
        return Err(PartRefusal::BadNumber {
            index,
            number: u32::from(number),
            max: u32::from(OPERATION_NUMBER_MAX),
        });
    }
    if number <= before {
        return Err(PartRefusal::NotAscending {
            index,
            number: u32::from(number),
            before: u32::from(before),
        });
    }
    Ok(())
}

fn is_possible(shop: Known<'_>, index: usize, operation: &Operation) -> Result<(), PartRefusal> {
    match &operation.work {
        Work::Manual(manual) => match manual.vendor {
            Some(vendor) if shop.vendors.get(&vendor).is_none() => Err(PartRefusal::UnknownVendor {
                field: format!("/operations/{index}/manual/vendor"),
                vendor,
            }),
            _ => Ok(()),
        },
        Work::Machining(work) => {
            let at = format!("/operations/{index}/machining");
            positive(&format!("{at}/pieces_per_load"), work.pieces_per_load)?;
            holds(shop, &at, work)?;
            count(&format!("{at}/places"), work.places.len(), 1, PLACES_MAX)?;
            for (number, place) in work.places.iter().enumerate() {
                let field = format!("{at}/places/{number}");
                if work.places[..number].iter().any(|other| other.cell == place.cell) {
                    return Err(PartRefusal::Repeated {
                        field: format!("{field}/cell"),
                        what: format!("the cell {}", place.cell),
                    });
                }
                runs_at(shop, &field, place)?;
            }
            Ok(())
        }
    }
}

fn holds(shop: Known<'_>, at: &str, work: &Machining) -> Result<(), PartRefusal> {
    let field = format!("{at}/fixtures");
    count(&field, work.fixtures.len(), 1, FIXTURES_PER_OPERATION_MAX)?;
    for (number, id) in work.fixtures.iter().enumerate() {
        let field = format!("{field}/{number}");
        let Some(fixture) = shop.fixtures.get(id) else {
            return Err(PartRefusal::UnknownFixture { field, fixture: *id });
        };
        if work.fixtures[..number].contains(id) {
            return Err(PartRefusal::Repeated {
                field,
                what: format!("the fixture {id}"),
            });
        }
        if fixture.facts.nests < work.pieces_per_load {
            return Err(PartRefusal::TooFewNests {
                field,
                fixture: *id,
                nests: fixture.facts.nests,
                pieces_per_load: work.pieces_per_load,
            });
        }
    }
    Ok(())
}

fn runs_at(shop: Known<'_>, at: &str, place: &Place) -> Result<(), PartRefusal> {
    if shop.cells.get(&place.cell).is_none() {
        return Err(PartRefusal::UnknownCell {
            field: format!("{at}/cell"),
            cell: place.cell,
        });
    }
    let (CycleTime::PerLoad { cycle_s } | CycleTime::PerPiece { cycle_s }) = place.cycle;
    positive(&format!("{at}/cycle"), cycle_s)?;
    let in_cell = |field: String, machine: MachineId| {
        let there = shop
            .machines
            .get(&machine)
            .is_some_and(|known| known.cell == place.cell);
        if there {
            Ok(())
        } else {
            Err(PartRefusal::UnknownMachine {
                field,
                machine,
                cell: place.cell,
            })
        }
    };
    let machines = format!("{at}/machines");
    count(&machines, place.machines.len(), 0, PLACES_MAX)?;
    for (number, machine) in place.machines.iter().enumerate() {
        in_cell(format!("{machines}/{number}"), *machine)?;
        once(
            &format!("{machines}/{number}"),
            &place.machines[..number],
            machine,
        )?;
    }
    let tools = format!("{at}/tools");
    count(&tools, place.tools.len(), 0, TOOLS_PER_PLACE_MAX)?;
    for (number, used) in place.tools.iter().enumerate() {
        positive(&format!("{tools}/{number}/used_s_per_load"), used.used_s_per_load)?;
        let before: Vec<_> = place.tools[..number].iter().map(|other| &other.tool).collect();
        once(&format!("{tools}/{number}/tool"), &before, &&used.tool)?;
    }
    let clearances = format!("{at}/clearances");
    count(&clearances, place.clearances.len(), 0, PLACES_MAX)?;
    for (number, clearance) in place.clearances.iter().enumerate() {
        let field = format!("{clearances}/{number}/machine");
        in_cell(field.clone(), clearance.machine)?;
        if !place.takes(clearance.machine) {
            return Err(PartRefusal::ClearedElsewhere {
                field,
                machine: clearance.machine,
            });
        }
        let before: Vec<_> = place.clearances[..number]
            .iter()
            .map(|other| other.machine)
            .collect();
        once(&field, &before, &clearance.machine)?;
        let checks = format!("{clearances}/{number}/checklist");
        count(&checks, clearance.checklist.len(), 1, CHECKS_PER_CLEARANCE_MAX)?;
    }
    Ok(())
}

fn once<T: PartialEq + std::fmt::Display>(field: &str, before: &[T], this: &T) -> Result<(), PartRefusal> {
    if before.contains(this) {
        return Err(PartRefusal::Repeated {
            field: field.to_owned(),
            what: this.to_string(),
        });
    }
    Ok(())
}

fn positive(field: &str, value: u32) -> Result<(), PartRefusal> {
    if value == 0 {
        return Err(PartRefusal::NotPositive {
            field: field.to_owned(),
        });
    }
    Ok(())
}

fn count(field: &str, count: usize, min: usize, max: usize) -> Result<(), PartRefusal> {
    if (min..=max).contains(&count) {
        return Ok(());
    }
    Err(PartRefusal::BadCount {
        field: field.to_owned(),
        count,
        min,
        max,
    })
}

fn known(parts: &Parts, part: PartId) -> Result<&Part, PartRefusal> {
    parts.get(&part).ok_or(PartRefusal::Unknown { part })
}

fn is_current(expected: Option<u64>, current: u64) -> Result<(), PartRefusal> {
    match expected {
        Some(expected) if expected != current => Err(PartRefusal::Stale { expected, current }),
        _ => Ok(()),
    }
}

fn code_is_free(parts: &Parts, code: &Code, own: PartId) -> Result<(), PartRefusal> {
    let taken = parts
        .values()
        .find(|part| part.id != own && part.code.is_spoken_like(code));
    match taken {
        Some(part) => Err(PartRefusal::CodeTaken {
            code: code.clone(),
            part: part.id,
        }),
        None => Ok(()),
    }
}
