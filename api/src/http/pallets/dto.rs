use super::load_dto::LoadDto;
use crate::http::body;
use crate::http::instant::Instant;
use crate::http::size::{MassG, SizeDto};
use crate::http::text;
use crate::http::whole::Whole;
use crate::problem::{FieldError, Place, Problem};
use serde::{Deserialize, Serialize};
use spindlebook_domain::code::{Code, Name};
use spindlebook_domain::ids::{CellId, FixtureCopyId, FixtureId, MachineId, PalletId, Seq, SetupId};
use spindlebook_domain::pallet::{AddPallet, ChangePallet, Pallet, PalletFacts, Position, Setup};
use spindlebook_domain::shop::Shop;
use utoipa::ToSchema;

/// A pallet: what it may carry, where it stands, which fixture is on it.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Pallet, example = json!({"id": "01936b5e-5c00-7000-8000-000000000301", "cell": "01936b5e-5c00-7000-8000-0000000000c1",
    "code": "P1", "name": "Pallet 1", "size": {"length_mm": 500, "width_mm": 500, "height_mm": 600},
    "mass_max_g": 700_000, "interface": "GRID-50", "position": {"kind": "stand", "number": 1}, "setup": null, "load": null, "acted_at": null,
    "changed_seq": 21}))]
pub struct PalletDto {
    #[schema(value_type = uuid::Uuid)]
    pub id: PalletId,
    #[schema(value_type = uuid::Uuid)]
    pub cell: CellId,
    #[schema(value_type = text::Code)]
    pub code: Code,
    #[schema(value_type = text::Name)]
    pub name: Name,
    /// What may stand on it, fixture and pieces together.
    pub size: SizeDto,
    /// The most that it may carry, fixture and pieces together.
    pub mass_max_g: u32,
    /// How fixtures are clamped to it.
    #[schema(value_type = text::Code)]
    pub interface: Code,
    pub position: PositionDto,
    /// Null: no fixture is on it.
    pub setup: Option<SetupDto>,
    /// Null: nothing is clamped.
    pub load: Option<LoadDto>,
    /// When somebody last did something with it.
    #[schema(value_type = Option<text::Instant>)]
    pub acted_at: Option<Instant>,
    /// The entry that last changed it: its version.
    #[schema(value_type = text::Seq)]
    pub changed_seq: Seq,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum PositionKind {
    Spindle,
    LoadStation,
    Stand,
}

/// `machine` belongs to a spindle, `number` (from 1) to a load station or a stand.
#[derive(Clone, Copy, Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = Position, example = json!({"kind": "stand", "number": 1}))]
pub struct PositionDto {
    pub kind: PositionKind,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub number: Option<Whole<1, 10_000>>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<uuid::Uuid>)]
    pub machine: Option<MachineId>,
}

impl PositionDto {
    /// `at`: the pointer of the field that holds it.
    pub fn read(self, at: &str) -> Result<Position, Problem> {
        let wrong = |field: &str, code, detail: &str| {
            body::invalid(FieldError::at(
                Place::pointer(format!("{at}/{field}")),
                code,
                detail,
            ))
        };
        match (self.kind, self.number, self.machine) {
            (PositionKind::Spindle, None, Some(machine)) => Ok(Position::Spindle { machine }),
            (PositionKind::Spindle, Some(_), _) => Err(wrong(
                "number",
                "unknown",
                "a spindle has no `number`: name its `machine`",
            )),
            (PositionKind::Spindle, None, None) => Err(wrong(
                "machine",
                "missing",
                "`machine` is missing: whose spindle is it?",
            )),
            (_, _, Some(_)) => Err(wrong(
                "machine",
                "unknown",
                "only a spindle has a `machine`: leave it out",
            )),
            (_, None, None) => Err(wrong(
                "number",
                "missing",
                "`number` is missing: places are counted from 1",
            )),
            (PositionKind::LoadStation, Some(number), None) => {
                Ok(Position::LoadStation { number: number.to() })
            }
            (PositionKind::Stand, Some(number), None) => Ok(Position::Stand { number: number.to() }),
        }
    }
}

impl From<Position> for PositionDto {
    fn from(position: Position) -> Self {
        let counted = |kind, number: u32| Self {
            kind,
            number: Some(Whole::clamped(i64::from(number))),
            machine: None,
        };
        match position {
            Position::Spindle { machine } => Self {
                kind: PositionKind::Spindle,
                number: None,
                machine: Some(machine),
            },
            Position::LoadStation { number } => counted(PositionKind::LoadStation, number),
            Position::Stand { number } => counted(PositionKind::Stand, number),
        }
    }
}

/// A fixture on a pallet, from mount to unmount.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Setup)]
pub struct SetupDto {
    #[schema(value_type = uuid::Uuid)]
    pub id: SetupId,
    #[schema(value_type = uuid::Uuid)]
    pub fixture: FixtureId,
    #[schema(value_type = uuid::Uuid)]
    pub copy: FixtureCopyId,
    #[schema(value_type = text::Instant)]
    pub started_at: Instant,
    /// Null while somebody is still at it.
    #[schema(value_type = Option<text::Instant>)]
    pub ended_at: Option<Instant>,
}

impl From<&Setup> for SetupDto {
    fn from(setup: &Setup) -> Self {
        Self {
            id: setup.id,
            fixture: setup.fixture,
            copy: setup.copy,
            started_at: setup.started_at.into(),
            ended_at: setup.ended_at.map(Instant),
        }
    }
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"cell": "01936b5e-5c00-7000-8000-0000000000c1", "code": "P1", "name": "Pallet 1",
    "size": {"length_mm": 500, "width_mm": 500, "height_mm": 600}, "mass_max_g": 700_000, "interface": "GRID-50",
    "position": {"kind": "stand", "number": 1}}))]
pub struct AddPalletBody {
    #[schema(value_type = uuid::Uuid)]
    pub cell: CellId,
    #[schema(value_type = text::Code)]
    pub code: Code,
    #[schema(value_type = text::Name)]
    pub name: Name,
    pub size: SizeDto,
    pub mass_max_g: MassG,
    #[schema(value_type = text::Code)]
    pub interface: Code,
    pub position: Option<PositionDto>,
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"code": "P1", "name": "Pallet 1", "size": {"length_mm": 500, "width_mm": 500, "height_mm": 600},
    "mass_max_g": 700_000, "interface": "GRID-50"}))]
pub struct ChangePalletBody {
    #[schema(value_type = text::Code)]
    pub code: Code,
    #[schema(value_type = text::Name)]
    pub name: Name,
    pub size: SizeDto,
    pub mass_max_g: MassG,
    #[schema(value_type = text::Code)]
    pub interface: Code,
}

/// A page of pallets.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"items": [], "next_cursor": null}))]
pub struct PalletPage {
    #[schema(max_items = 200)]
    pub items: Vec<PalletDto>,
    /// Null on the last page.
    #[schema(value_type = Option<text::Cursor>)]
    pub next_cursor: Option<String>,
}

impl AddPalletBody {
    pub fn into_command(self, pallet: PalletId) -> Result<AddPallet, Problem> {
        let position = self
            .position
            .map(|position| position.read("/position"))
            .transpose()?;
        Ok(AddPallet {
            pallet,
            cell: self.cell,
            facts: PalletFacts {
                code: self.code,
                name: self.name,
                size: self.size.into(),
                mass_max_g: self.mass_max_g.to(),
                interface: self.interface,
            },
            position,
        })
    }
}

impl ChangePalletBody {
    pub fn into_change(self, pallet: PalletId, expected: Option<Seq>) -> ChangePallet {
        ChangePallet {
            pallet,
            facts: PalletFacts {
                code: self.code,
                name: self.name,
                size: self.size.into(),
                mass_max_g: self.mass_max_g.to(),
                interface: self.interface,
            },
            expected,
        }
    }
}

impl PalletDto {
    pub fn of(pallet: &Pallet, shop: &Shop) -> Self {
        let facts = &pallet.facts;
        Self {
            id: pallet.id,
            cell: pallet.cell,
            code: facts.code.clone(),
            name: facts.name.clone(),
            size: facts.size.into(),
            mass_max_g: facts.mass_max_g,
            interface: facts.interface.clone(),
            position: pallet.position.into(),
            setup: pallet.setup.as_ref().map(SetupDto::from),
            load: pallet.load.as_ref().map(|load| LoadDto::of(load, shop)),
            acted_at: pallet.acted_at.map(Instant),
            changed_seq: pallet.changed_seq,
        }
    }
}
