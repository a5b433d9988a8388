//! The cell, the fixture and the part that the work of the story is done with.

use anyhow::Result;
use serde_json::json;
use spindlebook_domain::cell::{AddCell, CellKind};
use spindlebook_domain::command::Command;
use spindlebook_domain::customer::AddCustomer;
use spindlebook_domain::fixture::{AddFixture, FixtureCopy};
use spindlebook_domain::ids::{
    CellId, CustomerId, FixtureCopyId, FixtureId, MachineId, PalletId, PartId, VendorId,
};
use spindlebook_domain::machine::{AddMachine, Placement};
use spindlebook_domain::pallet::{AddPallet, Position};
use spindlebook_domain::part::{AddPart, SetRouting};
use spindlebook_domain::vendor::AddVendor;
use uuid::Uuid;

pub struct WorkShop {
    pub cell: CellId,
    pub machine: MachineId,
    /// The first stands at the load station.
    pub pallets: [PalletId; 3],
    pub fixture: FixtureId,
    pub part: PartId,
    pub customer: CustomerId,
    vendor: VendorId,
}

/// With ids of its own.
impl Default for WorkShop {
    fn default() -> Self {
        Self {
            cell: CellId(Uuid::now_v7()),
            machine: MachineId(Uuid::now_v7()),
            pallets: [(); 3].map(|()| PalletId(Uuid::now_v7())),
            fixture: FixtureId(Uuid::now_v7()),
            part: PartId(Uuid::now_v7()),
            customer: CustomerId(Uuid::now_v7()),
            vendor: VendorId(Uuid::now_v7()),
        }
    }
}

impl WorkShop {
    pub fn commands(&self) -> Result<Vec<Command>> {
        let kind = CellKind::Pool {
            load_stations: 1,
            stands: 4,
            exchange_s: 60,
        };
        let cell = AddCell {
            cell: self.cell,
            code: "C8".parse()?,
            name: "Pool of the work".parse()?,
            kind,
        };
        let machine = AddMachine {
            machine: self.machine,
            placement: Placement::In(self.cell),
            code: "M8W".parse()?,
            name: "Mill".parse()?,
            silent_after_s: None,
        };
        let customer = AddCustomer {
            customer: self.customer,
            facts: serde_json::from_value(
                json!({ "code": "SUEDWERK", "name": "Suedwerk", "over_percent": 0, "under_percent": 0 }),
            )?,
        };
        let vendor = AddVendor {
            vendor: self.vendor,
            facts: serde_json::from_value(
                json!({ "code": "COAT", "name": "Coat", "workdays": ["Mon", "Tue"], "closed": [] }),
            )?,
        };
        let mut commands: Vec<Command> = vec![cell.into(), machine.into(), customer.into(), vendor.into()];
        let stand = |number| Position::Stand { number };
        let places = [Position::LoadStation { number: 1 }, stand(1), stand(2)];
        for ((pallet, position), number) in self.pallets.iter().zip(places).zip(1..) {
            let facts = json!({ "code": format!("W{number}"), "name": "Pallet", "mass_max_g": 500_000, "interface": "GRID-50",
                "size": { "length_mm": 400, "width_mm": 400, "height_mm": 500 } });
            let add = AddPallet {
                pallet: *pallet,
                cell: self.cell,
                facts: serde_json::from_value(facts)?,
                position: Some(position),
            };
            commands.push(add.into());
        }
        commands.extend(self.part()?);
        Ok(commands)
    }

    fn part(&self) -> Result<Vec<Command>> {
        let fixture = AddFixture {
            fixture: self.fixture,
            facts: serde_json::from_value(
                json!({ "code": "FW", "name": "Vice", "interface": "GRID-50", "nests": 6,
                "mount_s": 900, "mass_g": 40_000, "size": null }),
            )?,
            copies: vec![FixtureCopy {
                id: FixtureCopyId(Uuid::now_v7()),
                code: "FW-1".parse()?,
            }],
        };
        let part = AddPart {
            part: self.part,
            code: "4801".parse()?,
            name: "Cover".parse()?,
            revision: serde_json::from_value(
                json!({ "revision": "A", "mass_g": 900, "size": null, "blank": null }),
            )?,
        };
        // Cleared, for the acts of the story may fall into the night.
        let milling = json!({ "places": [{ "cell": self.cell, "machines": [], "cycle": { "per_load": { "cycle_s": 2_880 } },
                "program": null, "tools": [],
                "clearances": [{ "machine": self.machine, "checklist": ["Coolant level"] }] }],
            "fixtures": [self.fixture], "pieces_per_load": 6, "load_s": 600, "unload_s": 300, "setup_sheet": null,
            "first_piece": true, "first_article": false });
        let coating = json!({ "lead": { "working_days": { "lead_days": 5 } }, "vendor": self.vendor });
        let routing = SetRouting {
            part: self.part,
            revision: "A".parse()?,
            routing: serde_json::from_value(json!({ "operations": [
                { "number": 10, "name": "Mill", "work": { "machining": milling } },
                { "number": 20, "name": "Coat", "work": { "manual": coating } },
            ] }))?,
            expected: None,
        };
        Ok(vec![fixture.into(), part.into(), routing.into()])
    }
}
