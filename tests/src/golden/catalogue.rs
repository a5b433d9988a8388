//! One command of every kind about what a shop works with. The shop is invented.

use anyhow::Result;
use serde_json::{Value, json};
use spindlebook_domain::cell::{AddCell, CellKind};
use spindlebook_domain::command::Command;
use spindlebook_domain::customer::{AddCustomer, ChangeCustomer, CustomerFacts};
use spindlebook_domain::fixture::{AddFixture, AddFixtureCopy, ChangeFixture, FixtureCopy, FixtureFacts};
use spindlebook_domain::ids::{
    CellId, CustomerId, FixtureCopyId, FixtureId, MachineId, PalletId, PartId, VendorId,
};
use spindlebook_domain::machine::{AddMachine, MachineTool, Placement, SetMachineTools};
use spindlebook_domain::pallet::{AddPallet, ChangePallet, PalletFacts, Position};
use spindlebook_domain::part::{AddPart, AddRevision, ChangePart, RevisionFacts, SetRouting};
use spindlebook_domain::site::{People, SetSitePeople};
use spindlebook_domain::vendor::{AddVendor, ChangeVendor, VendorFacts};
use uuid::Uuid;

/// In a new cell with a machine of its own; one pallet stands at a load station of `cell`.
pub fn catalogue(cell: CellId) -> Result<Vec<Command>> {
    let (own, machine) = (CellId(Uuid::now_v7()), MachineId(Uuid::now_v7()));
    let (fixture, vendor) = (FixtureId(Uuid::now_v7()), VendorId(Uuid::now_v7()));
    Ok([
        about_a_cell(own, machine)?,
        about_pallets(cell, own, machine)?,
        about_fixtures(fixture)?,
        about_companies(vendor)?,
        about_parts(own, machine, fixture, vendor)?,
    ]
    .concat())
}

fn about_a_cell(cell: CellId, machine: MachineId) -> Result<Vec<Command>> {
    let kind = CellKind::Pool {
        load_stations: 1,
        stands: 4,
        exchange_s: 60,
    };
    let add = AddCell {
        cell,
        code: "C7".parse()?,
        name: "Pool of the catalogue".parse()?,
        kind,
    };
    let mill = AddMachine {
        machine,
        placement: Placement::In(cell),
        code: "M7".parse()?,
        name: "Mill".parse()?,
        silent_after_s: None,
    };
    let twin = MachineTool {
        tool: "T12".parse()?,
        life_left_s: 3_600,
    };
    let tools = SetMachineTools {
        machine,
        tools: vec![twin.clone(), twin],
        expected: None,
    };
    let people: People = serde_json::from_value(json!({ "headcount": [{ "shift": "Early", "people": 3 }],
        "inspectors": { "shifts": [{ "name": "Inspection", "weekday": "Mon", "starts": "07:00", "ends": "15:30" }],
                        "exceptions": [{ "holiday": { "date": "2026-12-25", "name": "Christmas" } },
                                       { "closed": { "date": "2026-12-28" } }] } }))?;
    let people = SetSitePeople {
        people,
        expected: None,
    };
    Ok(vec![add.into(), mill.into(), tools.into(), people.into()])
}

fn size() -> Value {
    json!({ "length_mm": 400, "width_mm": 300, "height_mm": 500 })
}

fn about_pallets(cell: CellId, own: CellId, machine: MachineId) -> Result<Vec<Command>> {
    let facts = |code: &str| -> Result<PalletFacts> {
        Ok(serde_json::from_value(
            json!({ "code": code, "name": "Pallet", "size": size(), "mass_max_g": 500_000, "interface": "GRID-50" }),
        )?)
    };
    let add = |cell, code: &str, position| -> Result<AddPallet> {
        Ok(AddPallet {
            pallet: PalletId(Uuid::now_v7()),
            cell,
            facts: facts(code)?,
            position,
        })
    };
    let first = add(own, "P1", None)?;
    let change = ChangePallet {
        pallet: first.pallet,
        facts: facts("P1b")?,
        expected: None,
    };
    Ok(vec![
        first.into(),
        add(own, "P2", Some(Position::Spindle { machine }))?.into(),
        add(cell, "P3", Some(Position::LoadStation { number: 1 }))?.into(),
        change.into(),
    ])
}

fn about_fixtures(fixture: FixtureId) -> Result<Vec<Command>> {
    let facts: FixtureFacts = serde_json::from_value(
        json!({ "code": "F7", "name": "Four sides", "interface": "GRID-50",
        "nests": 8, "mount_s": 1_800, "mass_g": 85_000, "size": size() }),
    )?;
    let copy = |code: &str| -> Result<FixtureCopy> {
        Ok(FixtureCopy {
            id: FixtureCopyId(Uuid::now_v7()),
            code: code.parse()?,
        })
    };
    let add = AddFixture {
        fixture,
        facts: facts.clone(),
        copies: vec![copy("F7-1")?],
    };
    let change = ChangeFixture {
        fixture,
        facts,
        expected: None,
    };
    let another = AddFixtureCopy {
        fixture,
        copy: copy("F7-2")?,
    };
    Ok(vec![add.into(), change.into(), another.into()])
}

fn about_companies(vendor: VendorId) -> Result<Vec<Command>> {
    let customer = CustomerId(Uuid::now_v7());
    let orders: CustomerFacts = serde_json::from_value(
        json!({ "code": "NORDWERK", "name": "Nordwerk", "over_percent": 5, "under_percent": 0 }),
    )?;
    let coats: VendorFacts = serde_json::from_value(
        json!({ "code": "HARDCOAT", "name": "Hardcoat", "workdays": ["Mon", "Tue"], "closed": ["2026-12-25"] }),
    )?;
    let add_customer = AddCustomer {
        customer,
        facts: orders.clone(),
    };
    let change_customer = ChangeCustomer {
        customer,
        facts: orders,
        expected: None,
    };
    let add_vendor = AddVendor {
        vendor,
        facts: coats.clone(),
    };
    let change_vendor = ChangeVendor {
        vendor,
        facts: coats,
        expected: None,
    };
    Ok(vec![
        add_customer.into(),
        change_customer.into(),
        add_vendor.into(),
        change_vendor.into(),
    ])
}

fn about_parts(
    cell: CellId,
    machine: MachineId,
    fixture: FixtureId,
    vendor: VendorId,
) -> Result<Vec<Command>> {
    let part = PartId(Uuid::now_v7());
    let revision = |revision: &str| -> Result<RevisionFacts> {
        Ok(serde_json::from_value(
            json!({ "revision": revision, "mass_g": 2_100, "size": size(),
            "blank": { "name": "Bar", "mass_g": 3_400, "size": null } }),
        )?)
    };
    let add = AddPart {
        part,
        code: "4711".parse()?,
        name: "Housing".parse()?,
        revision: revision("A")?,
    };
    let change = ChangePart {
        part,
        code: "4711".parse()?,
        name: "Valve housing".parse()?,
        expected: None,
    };
    let newer = AddRevision {
        part,
        facts: revision("B")?,
    };
    let milling = json!({ "places": [{ "cell": cell, "machines": [machine], "cycle": { "per_load": { "cycle_s": 2_880 } },
            "program": { "name": "O4711-10", "revision": "3" }, "tools": [{ "tool": "T12", "used_s_per_load": 900 }],
            "clearances": [{ "machine": machine, "checklist": ["Coolant level"] }] }],
        "fixtures": [fixture], "pieces_per_load": 6, "load_s": 600, "unload_s": 300,
        "setup_sheet": "https://files.example/4711-10.pdf", "first_piece": true, "first_article": false });
    let routing = json!({ "operations": [
        { "number": 5, "name": "Saw", "work": { "manual": { "lead": { "staffed_time": { "lead_s": 3_600 } }, "vendor": null } } },
        { "number": 10, "name": "Mill", "work": { "machining": milling } },
        { "number": 20, "name": "Anodise", "work": { "manual": { "lead": { "working_days": { "lead_days": 5 } }, "vendor": vendor } } },
    ] });
    let set = SetRouting {
        part,
        revision: "A".parse()?,
        routing: serde_json::from_value(routing)?,
        expected: None,
    };
    Ok(vec![add.into(), change.into(), newer.into(), set.into()])
}
