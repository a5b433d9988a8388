//! Enters the sheets into the book: fixtures, pallets, parts with their routings, customers, the vendor, who is there.

use super::frame::Frame;
use super::sheets::{
    CHECKLIST, CUSTOMERS, Cut, FIXTURES, First, FixtureSheet, In, Minutes, PARTS, PartSheet, SHAFT, VENDOR,
    WorkSheet,
};
use super::shop::{Inventor, Machines, NotAShop};
use chrono::Weekday;
use spindlebook_domain::code::Code;
use spindlebook_domain::customer::{AddCustomer, CustomerFacts};
use spindlebook_domain::fixture::{AddFixture, FixtureCopy, FixtureFacts};
use spindlebook_domain::floor::{OpeningPallet, OpeningSetup};
use spindlebook_domain::ids::{
    CellId, CustomerId, FixtureCopyId, FixtureId, MachineId, PalletId, PartId, SetupId, VendorId,
};
use spindlebook_domain::pallet::{AddPallet, PalletFacts, Position};
use spindlebook_domain::part::{
    AddPart, Clearance, CycleTime, Lead, Machining, Manual, Operation, Place, Program, RevisionFacts,
    Routing, SetRouting, Work,
};
use spindlebook_domain::site::{Headcount, People, SetSitePeople};
use spindlebook_domain::size::Size;
use spindlebook_domain::vendor::{AddVendor, VendorFacts, Workday};
use std::collections::{BTreeMap, BTreeSet};

const ROOM: Size = Size {
    length_mm: 630,
    width_mm: 630,
    height_mm: 800,
};
const PALLETS: [(In, &str, u32); 3] = [
    (In::FiveAxis, "P1", 7),
    (In::Horizontal, "P2", 7),
    (In::Standalone, "S1-table", 1),
];
const INTERFACES: [(In, &str); 3] = [
    (In::FiveAxis, "CONE-52"),
    (In::Horizontal, "GRID-50"),
    (In::Standalone, "T-SLOT-14"),
];

pub struct Catalogue {
    pub parts: Vec<MadePart>,
    pub customers: Vec<CustomerId>,
    /// What stands mounted on day one.
    pub standing: Vec<OpeningPallet>,
}

#[derive(Clone, Debug)]
pub struct MadePart {
    pub id: PartId,
    pub revision: Code,
    pub cell: CellId,
    pub is_new: bool,
    pub lots: (i64, i64),
}

type Fixtures = BTreeMap<&'static str, (FixtureId, Vec<FixtureCopyId>)>;

pub fn enter(inventor: &mut Inventor<'_>, machines: &Machines, frame: &Frame) -> Result<Catalogue, NotAShop> {
    people(inventor, frame)?;
    let mut fixtures = Fixtures::new();
    for sheet in &FIXTURES {
        fixtures.insert(sheet.code, fixture(inventor, sheet)?);
    }
    let standing = pallets(inventor, machines, &fixtures)?;
    let vendor = vendor(inventor)?;
    let mut parts = Vec::new();
    for sheet in PARTS.iter().chain([&SHAFT]) {
        parts.push(part(inventor, machines, &fixtures, vendor, sheet)?);
    }
    let mut customers = Vec::new();
    for (code, name, over_percent, under_percent) in CUSTOMERS {
        let customer = CustomerId(inventor.dice.uuid());
        let facts = CustomerFacts {
            code: code.parse()?,
            name: name.parse()?,
            over_percent,
            under_percent,
        };
        inventor.does(AddCustomer { customer, facts });
        customers.push(customer);
    }
    Ok(Catalogue {
        parts,
        customers,
        standing,
    })
}

/// Two people in the early shift, one in the late one; inspectors work by day.
fn people(inventor: &mut Inventor<'_>, frame: &Frame) -> Result<(), NotAShop> {
    let mut headcount = Vec::new();
    for (shift, people) in [("early", 3), ("late", 2)] {
        let shift = shift.parse()?;
        headcount.push(Headcount { shift, people });
    }
    inventor.does(SetSitePeople {
        people: People {
            headcount,
            inspectors: Some(frame.day_calendar.for_date(frame.first).clone()),
        },
        expected: None,
    });
    Ok(())
}

fn interface(at: In) -> Result<Code, NotAShop> {
    let known = INTERFACES.iter().find(|(of, _)| *of == at);
    Ok(known.map_or("NONE", |(_, code)| *code).parse()?)
}

fn fixture(
    inventor: &mut Inventor<'_>,
    sheet: &FixtureSheet,
) -> Result<(FixtureId, Vec<FixtureCopyId>), NotAShop> {
    let fixture = FixtureId(inventor.dice.uuid());
    let mut copies = Vec::new();
    for number in 1..=sheet.copies {
        let id = FixtureCopyId(inventor.dice.uuid());
        let code = format!("{}-{number}", sheet.code).parse()?;
        copies.push(FixtureCopy { id, code });
    }
    let ids = copies.iter().map(|copy| copy.id).collect();
    let facts = FixtureFacts {
        code: sheet.code.parse()?,
        name: sheet.name.parse()?,
        interface: interface(sheet.at)?,
        nests: sheet.nests,
        mount_s: sheet.mount_min * 60,
        mass_g: Some(sheet.mass_kg * 1_000),
        size: None,
    };
    inventor.does(AddFixture {
        fixture,
        facts,
        copies,
    });
    Ok((fixture, ids))
}

/// Each pallet on a stand of its own, the mounted copies one after the other.
fn pallets(
    inventor: &mut Inventor<'_>,
    machines: &Machines,
    fixtures: &Fixtures,
) -> Result<Vec<OpeningPallet>, NotAShop> {
    let mut standing = Vec::new();
    for (at, code, count) in PALLETS {
        let mut mounted = mounted(at, fixtures).into_iter();
        for number in 1..=count {
            let pallet = PalletId(inventor.dice.uuid());
            let position = match machines.spindles(at).first() {
                Some(machine) if at == In::Standalone => Position::Spindle { machine: *machine },
                _ => Position::Stand { number },
            };
            let code = match at {
                In::Standalone => code.parse()?,
                In::FiveAxis | In::Horizontal => format!("{code}-{number:02}").parse()?,
            };
            let facts = PalletFacts {
                code,
                name: "Machine pallet".parse()?,
                size: ROOM,
                mass_max_g: 500_000,
                interface: interface(at)?,
            };
            inventor.does(AddPallet {
                pallet,
                cell: machines.cell(at),
                facts,
                position: Some(position),
            });
            let setup = mounted.next().map(|(fixture, copy)| OpeningSetup {
                setup: SetupId(inventor.dice.uuid()),
                fixture,
                copy,
                is_ended: true,
            });
            standing.push(OpeningPallet {
                pallet,
                position,
                setup,
                load: None,
            });
        }
    }
    Ok(standing)
}

fn mounted(at: In, fixtures: &Fixtures) -> Vec<(FixtureId, FixtureCopyId)> {
    let of_cell = FIXTURES.iter().filter(|sheet| sheet.at == at);
    let copies = of_cell.filter_map(|sheet| {
        let (fixture, copies) = fixtures.get(sheet.code)?;
        Some(copies.iter().take(sheet.mounted).map(|copy| (*fixture, *copy)))
    });
    copies.flatten().collect()
}

fn vendor(inventor: &mut Inventor<'_>) -> Result<VendorId, NotAShop> {
    let vendor = VendorId(inventor.dice.uuid());
    let workdays = [
        Weekday::Mon,
        Weekday::Tue,
        Weekday::Wed,
        Weekday::Thu,
        Weekday::Fri,
    ];
    let facts = VendorFacts {
        code: VENDOR.0.parse()?,
        name: VENDOR.1.parse()?,
        workdays: workdays.map(Workday).into_iter().collect(),
        closed: BTreeSet::new(),
    };
    inventor.does(AddVendor { vendor, facts });
    Ok(vendor)
}

fn part(
    inventor: &mut Inventor<'_>,
    machines: &Machines,
    fixtures: &Fixtures,
    vendor: VendorId,
    sheet: &PartSheet,
) -> Result<MadePart, NotAShop> {
    let part = PartId(inventor.dice.uuid());
    let revision: Code = sheet.revision.parse()?;
    inventor.does(AddPart {
        part,
        code: sheet.code.parse()?,
        name: sheet.name.parse()?,
        revision: RevisionFacts {
            revision: revision.clone(),
            mass_g: Some(sheet.mass_g),
            size: None,
            blank: None,
        },
    });
    let mut operations = Vec::new();
    for step in sheet.steps {
        let manual = |lead, vendor| Work::Manual(Manual { lead, vendor });
        let work = match &step.work {
            WorkSheet::Cut(cut) => Work::Machining(machining(machines, fixtures, sheet, step.number, cut)?),
            WorkSheet::InHouse { hours } => manual(
                Lead::StaffedTime {
                    lead_s: hours * 3_600,
                },
                None,
            ),
            WorkSheet::Outside { days } => manual(Lead::WorkingDays { lead_days: *days }, Some(vendor)),
        };
        operations.push(Operation {
            number: step.number,
            name: step.name.parse()?,
            work,
        });
    }
    inventor.does(SetRouting {
        part,
        revision: revision.clone(),
        routing: Routing { operations },
        expected: None,
    });
    Ok(MadePart {
        id: part,
        revision,
        cell: machines.cell(sheet.at),
        is_new: sheet.code == super::sheets::NEW_PART,
        lots: sheet.lots,
    })
}

fn machining(
    machines: &Machines,
    fixtures: &Fixtures,
    sheet: &PartSheet,
    number: u16,
    cut: &Cut,
) -> Result<Machining, NotAShop> {
    let all = machines.spindles(sheet.at);
    let on: Vec<MachineId> = match cut.first {
        First::PieceOn(index) => all.get(index).copied().into_iter().collect(),
        First::Unchecked | First::Article => all.to_vec(),
    };
    let nests = FIXTURES.iter().find(|fixture| fixture.code == cut.fixture);
    let mut checklist = Vec::new();
    for check in CHECKLIST {
        checklist.push(check.parse()?);
    }
    let clearance = |machine: &MachineId| Clearance {
        machine: *machine,
        checklist: checklist.clone(),
    };
    let place = Place {
        cell: machines.cell(sheet.at),
        cycle: match cut.minutes {
            Minutes::PerLoad(minutes) => CycleTime::PerLoad {
                cycle_s: minutes * 60,
            },
            Minutes::PerPiece(minutes) => CycleTime::PerPiece {
                cycle_s: minutes * 60,
            },
        },
        program: Some(Program {
            name: format!("{}-{number}", sheet.code).parse()?,
            revision: sheet.revision.parse()?,
        }),
        tools: Vec::new(),
        clearances: on.iter().filter(|_| cut.alone).map(clearance).collect(),
        machines: on,
    };
    Ok(Machining {
        places: vec![place],
        fixtures: fixtures.get(cut.fixture).map(|(id, _)| *id).into_iter().collect(),
        pieces_per_load: nests.map_or(1, |fixture| fixture.nests),
        load_s: cut.load_min * 60,
        unload_s: cut.unload_min * 60,
        setup_sheet: None,
        first_piece: matches!(cut.first, First::PieceOn(_)),
        first_article: cut.first == First::Article,
    })
}
