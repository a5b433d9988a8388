//! A line of an order that nobody has entered, as it is asked about.

use crate::http::body::{self, invalid};
use crate::http::command::new_id;
use crate::http::orders::line_dto::{Pieces, PriorityName};
use crate::http::parts::routing_dto::{LeadDays, LeadS};
use crate::http::text;
use crate::http::whole::Whole;
use crate::problem::{FieldError, Place, Problem};
use chrono::NaiveDate;
use serde::Deserialize;
use spindlebook_domain::code::{Code, Name};
use spindlebook_domain::fixture::{Fixture, FixtureCopy, FixtureFacts};
use spindlebook_domain::ids::{CellId, FixtureCopyId, FixtureId, JobId, OrderId, PartId, VendorId};
use spindlebook_domain::part::{
    Clearance, CycleTime, FrozenRouting, Lead, Machining, Manual, Operation, Place as RoutingPlace, Routing,
    Work,
};
use spindlebook_domain::plan::hypothetical::Hypothetical;
use spindlebook_domain::refusal::Refusal;
use spindlebook_domain::shop::Shop;
use utoipa::ToSchema;

/// Far behind every line with a date: who asks when it can be there has none.
fn no_date() -> NaiveDate {
    NaiveDate::from_ymd_opt(2_199, 12, 1).unwrap_or(NaiveDate::MAX)
}

/// A known part, or operations that no part has yet.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = AskedLine)]
pub struct AskedLineBody {
    #[schema(value_type = Option<uuid::Uuid>)]
    pub part: Option<PartId>,
    /// Of the part; without it, its newest that has a routing.
    #[schema(value_type = Option<text::Code>)]
    pub revision: Option<Code>,
    /// In ascending order, where there is no part.
    #[serde(default)]
    #[schema(max_items = 50)]
    pub operations: Vec<AdHocOperationBody>,
    pub quantity: Pieces,
    /// Until the end of this day. Without it the line is never late.
    pub due: Option<NaiveDate>,
    #[serde(default)]
    pub priority: PriorityName,
    /// Without it the material is here.
    pub material_expected: Option<NaiveDate>,
}

/// Either in a cell, or a step elsewhere.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = AdHocOperation)]
pub struct AdHocOperationBody {
    pub number: Whole<1, 9_999>,
    /// Where it would be cut.
    #[schema(value_type = Option<uuid::Uuid>)]
    pub cell: Option<CellId>,
    /// Of one load, however many pieces are in it.
    pub cycle_s: Option<Whole<1, 604_800>>,
    pub pieces_per_load: Option<Whole<1, 500>>,
    pub load_s: Option<Whole<0, 86_400>>,
    pub unload_s: Option<Whole<0, 86_400>>,
    /// Null: one is to be made for it, which every pallet of the cell takes.
    #[schema(value_type = Option<uuid::Uuid>)]
    pub fixture: Option<FixtureId>,
    /// Of the fixture that is to be made: an hour without it.
    pub mount_s: Option<Whole<0, 604_800>>,
    /// It would be proven for running unattended, on every machine of the cell.
    #[serde(default)]
    pub is_cleared: bool,
    #[serde(default)]
    pub first_article: bool,
    /// A step that is done by hand or elsewhere: staffed time of the site …
    pub lead_s: Option<LeadS>,
    /// … or working days.
    pub lead_days: Option<LeadDays>,
    #[schema(value_type = Option<uuid::Uuid>)]
    pub vendor: Option<VendorId>,
}

/// One line of what is asked, as the engine takes it.
pub fn hypothetical(shop: &Shop, index: usize, asked: &AskedLineBody) -> Result<Hypothetical, Problem> {
    let at = |field: &str| Place::pointer(format!("/lines/{index}/{field}"));
    let mut fixtures = Vec::new();
    let (part, revision, routing) = match asked.part {
        Some(_) if !asked.operations.is_empty() => {
            let detail = "a line is of a known part or has operations of its own, not both";
            return Err(invalid(FieldError::at(at("operations"), "not_together", detail)));
        }
        Some(part) => of_part(shop, part, asked.revision.as_ref(), &at)?,
        None => {
            let routing = ad_hoc(shop, &asked.operations, &at, &mut fixtures)?;
            (PartId(new_id()), code("A", &at("revision"))?, routing)
        }
    };
    let line = Hypothetical {
        order: OrderId(new_id()),
        job: JobId(new_id()),
        code: code("ASKED", &at("part"))?,
        part,
        revision,
        routing,
        pieces: asked.quantity.to(),
        due: asked.due.unwrap_or_else(no_date),
        priority: asked.priority.into(),
        material_expected: asked.material_expected,
        fixtures,
    };
    line.is_possible(shop)
        .map_err(|refusal| Problem::from(Refusal::from(refusal)))?;
    Ok(line)
}

type Routed = (PartId, Code, FrozenRouting);

fn of_part(
    shop: &Shop,
    part: PartId,
    revision: Option<&Code>,
    at: &impl Fn(&str) -> Place,
) -> Result<Routed, Problem> {
    let unknown = |field: &str, detail: String| invalid(FieldError::at(at(field), "unknown", detail));
    let known = shop.parts.get(&part);
    let known = known.ok_or_else(|| unknown("part", format!("there is no part {part} at this site")))?;
    let found = match revision {
        Some(revision) => known.revision(revision),
        None => known.revisions.iter().rev().find(|one| one.routing.is_some()),
    };
    let routed = found.and_then(|one| Some((one.facts.revision.clone(), one.routing.clone()?)));
    let (revision, routing) = routed.ok_or_else(|| {
        let detail = format!("part {} has no such revision with a routing", known.code);
        unknown("revision", detail)
    })?;
    Ok((part, revision, routing))
}

fn ad_hoc(
    shop: &Shop,
    operations: &[AdHocOperationBody],
    at: &impl Fn(&str) -> Place,
    fixtures: &mut Vec<Fixture>,
) -> Result<FrozenRouting, Problem> {
    let mut read = Vec::with_capacity(operations.len());
    for (number, operation) in operations.iter().enumerate() {
        let at = |field: &str| at(&format!("operations/{number}/{field}"));
        let name = Name::try_from(format!("Operation {}", operation.number.get()));
        read.push(Operation {
            number: operation.number.to(),
            name: name
                .map_err(|error| invalid(FieldError::at(at("number"), "invalid", error.to_string())))?,
            work: work(shop, operation, &at, fixtures)?,
        });
    }
    Ok(Routing { operations: read }.into())
}

fn work(
    shop: &Shop,
    body: &AdHocOperationBody,
    at: &impl Fn(&str) -> Place,
    fixtures: &mut Vec<Fixture>,
) -> Result<Work, Problem> {
    let wrong = |field: &str, code, detail: &str| body::invalid(FieldError::at(at(field), code, detail));
    match (body.cell, body.lead_s, body.lead_days) {
        (None, Some(lead_s), None) => Ok(Work::Manual(Manual {
            lead: Lead::StaffedTime { lead_s: lead_s.to() },
            vendor: body.vendor,
        })),
        (None, None, Some(lead_days)) => Ok(Work::Manual(Manual {
            lead: Lead::WorkingDays {
                lead_days: lead_days.to(),
            },
            vendor: body.vendor,
        })),
        (Some(cell), None, None) => {
            let cycle_s = body
                .cycle_s
                .ok_or_else(|| wrong("cycle_s", "missing", "say how long one load is cut"))?;
            let fixture = match body.fixture {
                Some(fixture) => fixture,
                None => made_for(shop, cell, body, at, fixtures)?,
            };
            let machines = shop.machines_of(cell);
            let cleared = machines
                .iter()
                .filter(|_| body.is_cleared)
                .map(|machine| machine.id);
            let place = RoutingPlace {
                cell,
                machines: Vec::new(),
                cycle: CycleTime::PerLoad {
                    cycle_s: cycle_s.to(),
                },
                program: None,
                tools: Vec::new(),
                clearances: cleared.map(asked_clearance).collect(),
            };
            Ok(Work::Machining(Machining {
                places: vec![place],
                fixtures: vec![fixture],
                pieces_per_load: body.pieces_per_load.map_or(1, Whole::to),
                load_s: body.load_s.map_or(0, Whole::to),
                unload_s: body.unload_s.map_or(0, Whole::to),
                setup_sheet: None,
                first_piece: false,
                first_article: body.first_article,
            }))
        }
        _ => Err(wrong(
            "cell",
            "not_together",
            "say `cell`, `lead_s` or `lead_days`: where is it done?",
        )),
    }
}

/// Nobody looks at a list for what does not exist yet; a clearance has one all the same.
fn asked_clearance(machine: spindlebook_domain::ids::MachineId) -> Clearance {
    Clearance {
        machine,
        checklist: Name::try_from("as asked".to_owned()).into_iter().collect(),
    }
}

/// One copy of a fixture that fits the pallets of the cell.
fn made_for(
    shop: &Shop,
    cell: CellId,
    body: &AdHocOperationBody,
    at: &impl Fn(&str) -> Place,
    fixtures: &mut Vec<Fixture>,
) -> Result<FixtureId, Problem> {
    const HOUR_S: u32 = 3_600;
    let mut pallets: Vec<_> = shop
        .pallets
        .values()
        .filter(|pallet| pallet.cell == cell)
        .collect();
    pallets.sort_by(|a, b| a.facts.code.cmp(&b.facts.code));
    let pallet = pallets.first().ok_or_else(|| {
        let detail = "this cell has no pallet that a fixture could stand on";
        invalid(FieldError::at(at("cell"), "unknown", detail))
    })?;
    let new = code(&format!("NEW-{}", fixtures.len() + 1), &at("fixture"))?;
    let name = Name::try_from("To be made".to_owned());
    let fixture = Fixture {
        id: FixtureId(new_id()),
        facts: FixtureFacts {
            code: new.clone(),
            name: name.map_err(|error| Problem::fault(&error))?,
            interface: pallet.facts.interface.clone(),
            nests: body.pieces_per_load.map_or(1, Whole::to),
            mount_s: body.mount_s.map_or(HOUR_S, Whole::to),
            mass_g: None,
            size: None,
        },
        copies: vec![FixtureCopy {
            id: FixtureCopyId(new_id()),
            code: new,
        }],
        changed_seq: shop.seq,
    };
    let id = fixture.id;
    fixtures.push(fixture);
    Ok(id)
}

fn code(text: &str, at: &Place) -> Result<Code, Problem> {
    Code::try_from(text.to_owned())
        .map_err(|error| invalid(FieldError::at(at.clone(), "invalid", error.to_string())))
}
