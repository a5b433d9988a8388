//! One command of every kind about what the shop works with.

use spindlebook_domain::cell::{AddCell, CellKind};
use spindlebook_domain::code::{Code, Name};
use spindlebook_domain::command::Command;
use spindlebook_domain::customer::{AddCustomer, ChangeCustomer, CustomerFacts};
use spindlebook_domain::fixture::{AddFixture, AddFixtureCopy, ChangeFixture, FixtureCopy, FixtureFacts};
use spindlebook_domain::ids::{
    CellId, CustomerId, FixtureCopyId, FixtureId, MachineId, PalletId, PartId, VendorId,
};
use spindlebook_domain::machine::{AddMachine, MachineTool, Placement, SetMachineTools};
use spindlebook_domain::pallet::{AddPallet, ChangePallet, PalletFacts, Position};
use spindlebook_domain::part::{
    AddPart, AddRevision, Blank, ChangePart, Clearance, CycleTime, Lead, Machining, Manual, Operation, Place,
    Program, RevisionFacts, Routing, SetRouting, ToolUse, Work,
};
use spindlebook_domain::site::{Headcount, People, SetSitePeople};
use spindlebook_domain::size::Size;
use spindlebook_domain::vendor::{AddVendor, ChangeVendor, VendorFacts, Workday};
use uuid::Uuid;

fn code(text: &str) -> Code {
    text.parse().unwrap()
}

fn name(text: &str) -> Name {
    text.parse().unwrap()
}

const SIZE: Size = Size {
    length_mm: 400,
    width_mm: 300,
    height_mm: 500,
};

/// In a cell of their own, beside whatever `cell` has.
pub fn commands(cell: CellId) -> Vec<Command> {
    let own = CellId(Uuid::now_v7());
    let machine = MachineId(Uuid::now_v7());
    let kind = CellKind::Pool {
        load_stations: 1,
        stands: 4,
        exchange_s: 60,
    };
    let added: Vec<Command> = vec![
        AddCell {
            cell: own,
            code: code("C7"),
            name: name("Pool"),
            kind,
        }
        .into(),
        AddMachine {
            placement: Placement::In(own),
            ..super::add_machine(machine, "M7")
        }
        .into(),
        SetMachineTools {
            machine,
            tools: vec![MachineTool {
                tool: code("T12"),
                life_left_s: 3_600,
            }],
            expected: None,
        }
        .into(),
        people(),
    ];
    let (fixture, vendor) = (FixtureId(Uuid::now_v7()), VendorId(Uuid::now_v7()));
    [
        added,
        about_pallets(cell, own, machine),
        about_fixtures(fixture),
        about_companies(vendor),
        about_parts(own, machine, fixture, vendor),
    ]
    .concat()
}

fn people() -> Command {
    SetSitePeople {
        people: People {
            headcount: vec![Headcount {
                shift: name("Early"),
                people: 3,
            }],
            inspectors: Some(super::read_rows::calendar("07:00")),
        },
        expected: None,
    }
    .into()
}

fn about_pallets(cell: CellId, own: CellId, machine: MachineId) -> Vec<Command> {
    let facts = |text: &str| PalletFacts {
        code: code(text),
        name: name("Pallet"),
        size: SIZE,
        mass_max_g: 500_000,
        interface: code("GRID-50"),
    };
    let add = |cell, text: &str, position| AddPallet {
        pallet: PalletId(Uuid::now_v7()),
        cell,
        facts: facts(text),
        position,
    };
    let first = add(own, "P1", None);
    let change = ChangePallet {
        pallet: first.pallet,
        facts: facts("P1b"),
        expected: None,
    };
    vec![
        first.into(),
        add(own, "P2", Some(Position::Spindle { machine })).into(),
        add(cell, "P3", Some(Position::LoadStation { number: 1 })).into(),
        change.into(),
    ]
}

fn about_fixtures(fixture: FixtureId) -> Vec<Command> {
    let facts = FixtureFacts {
        code: code("F7"),
        name: name("Four sides"),
        interface: code("GRID-50"),
        nests: 8,
        mount_s: 1_800,
        mass_g: Some(85_000),
        size: Some(SIZE),
    };
    let copy = |text: &str| FixtureCopy {
        id: FixtureCopyId(Uuid::now_v7()),
        code: code(text),
    };
    vec![
        AddFixture {
            fixture,
            facts: facts.clone(),
            copies: vec![copy("F7-1")],
        }
        .into(),
        ChangeFixture {
            fixture,
            facts,
            expected: None,
        }
        .into(),
        AddFixtureCopy {
            fixture,
            copy: copy("F7-2"),
        }
        .into(),
    ]
}

fn about_companies(vendor: VendorId) -> Vec<Command> {
    let customer = CustomerId(Uuid::now_v7());
    let customer_facts = CustomerFacts {
        code: code("NORDWERK"),
        name: name("Nordwerk"),
        over_percent: 5,
        under_percent: 0,
    };
    let vendor_facts = VendorFacts {
        code: code("HARDCOAT"),
        name: name("Hardcoat"),
        workdays: [Workday(chrono::Weekday::Mon)].into(),
        closed: ["2026-12-25".parse().unwrap()].into(),
    };
    vec![
        AddCustomer {
            customer,
            facts: customer_facts.clone(),
        }
        .into(),
        ChangeCustomer {
            customer,
            facts: customer_facts,
            expected: None,
        }
        .into(),
        AddVendor {
            vendor,
            facts: vendor_facts.clone(),
        }
        .into(),
        ChangeVendor {
            vendor,
            facts: vendor_facts,
            expected: None,
        }
        .into(),
    ]
}

fn about_parts(cell: CellId, machine: MachineId, fixture: FixtureId, vendor: VendorId) -> Vec<Command> {
    let part = PartId(Uuid::now_v7());
    let revision = |text: &str| RevisionFacts {
        revision: code(text),
        mass_g: Some(2_100),
        size: Some(SIZE),
        blank: Some(Blank {
            name: name("Bar"),
            mass_g: Some(3_400),
            size: None,
        }),
    };
    vec![
        AddPart {
            part,
            code: code("4711"),
            name: name("Housing"),
            revision: revision("A"),
        }
        .into(),
        ChangePart {
            part,
            code: code("4711"),
            name: name("Valve housing"),
            expected: None,
        }
        .into(),
        AddRevision {
            part,
            facts: revision("B"),
        }
        .into(),
        SetRouting {
            part,
            revision: code("A"),
            routing: routing(cell, machine, fixture, vendor),
            expected: None,
        }
        .into(),
    ]
}

fn routing(cell: CellId, machine: MachineId, fixture: FixtureId, vendor: VendorId) -> Routing {
    let place = Place {
        cell,
        machines: vec![machine],
        cycle: CycleTime::PerLoad { cycle_s: 2_880 },
        program: Some(Program {
            name: name("O4711-10"),
            revision: code("3"),
        }),
        tools: vec![ToolUse {
            tool: code("T12"),
            used_s_per_load: 900,
        }],
        clearances: vec![Clearance {
            machine,
            checklist: vec![name("Coolant level")],
        }],
    };
    let machining = Machining {
        places: vec![place],
        fixtures: vec![fixture],
        pieces_per_load: 6,
        load_s: 600,
        unload_s: 300,
        setup_sheet: Some("https://files.example/4711-10.pdf".to_owned().try_into().unwrap()),
        first_piece: true,
        first_article: false,
    };
    let manual = |lead, vendor| Work::Manual(Manual { lead, vendor });
    let steps = [
        (5, manual(Lead::StaffedTime { lead_s: 3_600 }, None)),
        (10, Work::Machining(machining)),
        (20, manual(Lead::WorkingDays { lead_days: 5 }, Some(vendor))),
    ];
    let operations = steps.into_iter().map(|(number, work)| Operation {
        number,
        name: name("Step"),
        work,
    });
    Routing {
        operations: operations.collect(),
    }
}
