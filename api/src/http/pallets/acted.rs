//! The answer to an act on a pallet: the pallet as it is now, and what whoever acted should know.

use super::dto::PalletDto;
use crate::http::command::{Accepted, Reply};
use crate::http::late::dto::deviations;
use crate::http::text;
use serde::Serialize;
use spindlebook_domain::floor::Mass;
use spindlebook_domain::ids::PalletId;
use spindlebook_domain::pallet::Pallet;
use spindlebook_domain::pool;
use spindlebook_domain::shop::Shop;
use spindlebook_domain::time::Timestamp;
use utoipa::ToSchema;

/// The pallet after the act.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = PalletAfterAct, example = json!({"id": "01936b5e-5c00-7000-8000-000000000301",
    "cell": "01936b5e-5c00-7000-8000-0000000000c1", "code": "P1", "name": "Pallet 1",
    "size": {"length_mm": 500, "width_mm": 500, "height_mm": 600}, "mass_max_g": 700_000, "interface": "GRID-50",
    "position": {"kind": "load_station", "number": 1}, "setup": {"id": "01936b5e-5c00-7000-8000-000000000501",
    "fixture": "01936b5e-5c00-7000-8000-000000000401", "copy": "01936b5e-5c00-7000-8000-000000000411",
    "started_at": "2026-11-02T07:00:00Z", "ended_at": "2026-11-02T07:15:00Z"},
    "load": {"id": "01936b5e-5c00-7000-8000-000000000601", "loaded_at": "2026-11-02T07:20:00Z", "stage": "ready",
    "run": null, "hold": null, "pieces": [{"job": "01936b5e-5c00-7000-8000-000000000901", "job_code": "SO-1041/1",
    "part": "01936b5e-5c00-7000-8000-000000000801", "part_code": "4711", "revision": "A", "operation": 10, "pieces": 5,
    "rework": false}]}, "acted_at": "2026-11-02T07:20:00Z", "changed_seq": 43,
    "mass": {"known_g": 41_500, "is_all": true}, "warnings": []}))]
pub struct PalletActedDto {
    #[serde(flatten)]
    pub pallet: PalletDto,
    /// Fixture and pieces together; null without a fixture.
    pub mass: Option<MassDto>,
    /// What does not forbid the act but should be known.
    #[schema(max_items = 10)]
    pub warnings: Vec<WarningDto>,
}

/// As far as it has been weighed. No limit for lifting: use the hoist or a second person as your assessment says.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
#[schema(as = Mass)]
pub struct MassDto {
    pub known_g: u64,
    /// False: fixture or pieces that nobody has weighed come on top.
    pub is_all: bool,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Warning)]
pub struct WarningDto {
    pub code: WarningCode,
    /// A sentence with the values.
    #[schema(value_type = text::Sentence)]
    pub detail: String,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum WarningCode {
    /// Pallets of the cell wait for each other in a circle.
    Gridlock,
    /// Something on the pallet has not been weighed.
    MassUnknown,
    /// It was done against a rule; it is booked, and the rule is named.
    Deviation,
    /// The hold stops no machine.
    MachineGoesOn,
    /// The run is planned to end when nobody is there, and is not cleared for that.
    RunsOnUnattended,
}

impl From<Mass> for MassDto {
    fn from(mass: Mass) -> Self {
        Self {
            known_g: mass.known_g,
            is_all: mass.is_all,
        }
    }
}

pub fn mass_of(pallet: &Pallet, shop: &Shop) -> Option<Mass> {
    let fixture = shop.fixtures.get(&pallet.setup.as_ref()?.fixture)?;
    Some(Mass::on(shop, fixture, pallet.load.as_ref()))
}

/// The circle of a cell in one sentence.
pub fn gridlock(pallet: &Pallet, shop: &Shop, now: Timestamp) -> Option<WarningDto> {
    let cell = shop.cells.get(&pallet.cell)?;
    let ring = pool::ring(shop, cell, now);
    let code = |pallet: &PalletId| {
        shop.pallets
            .get(pallet)
            .map_or_else(|| pallet.to_string(), |pallet| pallet.facts.code.to_string())
    };
    let links: Vec<_> = ring
        .iter()
        .map(|link| format!("{} waits for {}", code(&link.pallet), link.waits_for.text))
        .collect();
    (!links.is_empty()).then(|| WarningDto {
        code: WarningCode::Gridlock,
        detail: format!(
            "the pallets wait for each other in a circle: {}",
            links.join("; ")
        ),
    })
}

pub fn acted(
    accepted: &Accepted<'_>,
    pallet: PalletId,
    now: Timestamp,
    mut warnings: Vec<WarningDto>,
) -> Option<Reply> {
    let pallet = accepted.shop.pallets.get(&pallet)?;
    warnings.extend(deviations(accepted));
    warnings.extend(gridlock(pallet, accepted.shop, now));
    let mass = mass_of(pallet, accepted.shop);
    if mass.is_some_and(|mass| !mass.is_all) {
        warnings.push(WarningDto {
            code: WarningCode::MassUnknown,
            detail: "not everything on the pallet has been weighed: its mass is not known".to_owned(),
        });
    }
    let shown = PalletActedDto {
        pallet: PalletDto::of(pallet, accepted.shop),
        mass: mass.map(MassDto::from),
        warnings,
    };
    Some(Reply::ok(&shown).at(pallet.changed_seq))
}
