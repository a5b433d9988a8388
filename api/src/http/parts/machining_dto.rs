//! The machining of an operation, as it comes and goes.

use crate::http::text;
use crate::http::whole::Whole;
use serde::{Deserialize, Serialize};
use spindlebook_domain::code::{Code, Name};
use spindlebook_domain::ids::{CellId, FixtureId, MachineId};
use spindlebook_domain::part::{Clearance, CycleTime, Link, Machining, Place, Program, ToolUse};
use utoipa::ToSchema;

/// Seconds of one load, at most a week.
pub type CycleS = Whole<1, 604_800>;
/// Seconds of handling, at most a day.
pub type HandlingS = Whole<0, 86_400>;

#[derive(Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = Machining)]
pub struct MachiningDto {
    /// Where it can run; each cell once.
    #[schema(min_items = 1, max_items = 20)]
    pub places: Vec<PlaceDto>,
    /// The fixtures that hold it; each has nests for a full load.
    #[schema(value_type = Vec<uuid::Uuid>, min_items = 1, max_items = 20)]
    pub fixtures: Vec<FixtureId>,
    pub pieces_per_load: Whole<1, 500>,
    /// Clamping a full load at the load station.
    pub load_s: HandlingS,
    /// Taking it off.
    pub unload_s: HandlingS,
    /// Where the setup sheet lies; shown, never opened by the service.
    #[serde(default)]
    #[schema(value_type = Option<text::Link>)]
    pub setup_sheet: Option<Link>,
    /// After each new setup the first piece is checked before more are cut.
    #[serde(default)]
    pub first_piece: bool,
    /// The first piece of the job gets the formal inspection.
    #[serde(default)]
    pub first_article: bool,
}

#[derive(Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = PlaceOfOperation)]
pub struct PlaceDto {
    #[schema(value_type = uuid::Uuid)]
    pub cell: CellId,
    /// Without any: every machine of the cell.
    #[serde(default)]
    #[schema(value_type = Vec<uuid::Uuid>, max_items = 20)]
    pub machines: Vec<MachineId>,
    pub cycle: CycleDto,
    #[serde(default)]
    pub program: Option<ProgramDto>,
    #[serde(default)]
    #[schema(max_items = 200)]
    pub tools: Vec<ToolUseDto>,
    /// The machines on which it may run with nobody there.
    #[serde(default)]
    #[schema(max_items = 20)]
    pub clearances: Vec<ClearanceDto>,
}

/// How long the program runs: for the whole load however many pieces are in it, or for each piece. It always says which.
#[derive(Clone, Copy, Debug, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case", try_from = "CycleFields")]
#[schema(as = CycleTime)]
pub enum CycleDto {
    PerLoad { cycle_s: CycleS },
    PerPiece { cycle_s: CycleS },
}

/// A cycle time on its way in: to a bare number it answers that it must say of what it is.
#[derive(Deserialize)]
#[serde(
    deny_unknown_fields,
    expecting = "an object that says of what it is, `per_load` or `per_piece`: {\"per_load\": {\"cycle_s\": 2880}}"
)]
struct CycleFields {
    per_load: Option<SecondsOfCycle>,
    per_piece: Option<SecondsOfCycle>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SecondsOfCycle {
    cycle_s: CycleS,
}

impl TryFrom<CycleFields> for CycleDto {
    type Error = &'static str;

    fn try_from(fields: CycleFields) -> Result<Self, Self::Error> {
        match (fields.per_load, fields.per_piece) {
            (Some(SecondsOfCycle { cycle_s }), None) => Ok(Self::PerLoad { cycle_s }),
            (None, Some(SecondsOfCycle { cycle_s })) => Ok(Self::PerPiece { cycle_s }),
            _ => Err("say either `per_load` or `per_piece`"),
        }
    }
}

#[derive(Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = Program)]
pub struct ProgramDto {
    #[schema(value_type = text::Name)]
    pub name: Name,
    #[schema(value_type = text::Code)]
    pub revision: Code,
}

#[derive(Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = ToolUse)]
pub struct ToolUseDto {
    #[schema(value_type = text::Code)]
    pub tool: Code,
    /// Tool life that a full load takes.
    pub used_s_per_load: CycleS,
}

#[derive(Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = Clearance)]
pub struct ClearanceDto {
    #[schema(value_type = uuid::Uuid)]
    pub machine: MachineId,
    /// What has to be looked at each time before everybody leaves.
    #[schema(value_type = Vec<text::Name>, min_items = 1, max_items = 30)]
    pub checklist: Vec<Name>,
}

impl From<MachiningDto> for Machining {
    fn from(work: MachiningDto) -> Self {
        Self {
            places: work.places.into_iter().map(Place::from).collect(),
            fixtures: work.fixtures,
            pieces_per_load: work.pieces_per_load.to(),
            load_s: work.load_s.to(),
            unload_s: work.unload_s.to(),
            setup_sheet: work.setup_sheet,
            first_piece: work.first_piece,
            first_article: work.first_article,
        }
    }
}

impl From<&Machining> for MachiningDto {
    fn from(work: &Machining) -> Self {
        Self {
            places: work.places.iter().map(PlaceDto::from).collect(),
            fixtures: work.fixtures.clone(),
            pieces_per_load: Whole::clamped(i64::from(work.pieces_per_load)),
            load_s: Whole::clamped(i64::from(work.load_s)),
            unload_s: Whole::clamped(i64::from(work.unload_s)),
            setup_sheet: work.setup_sheet.clone(),
            first_piece: work.first_piece,
            first_article: work.first_article,
        }
    }
}

impl From<PlaceDto> for Place {
    fn from(place: PlaceDto) -> Self {
        Self {
            cell: place.cell,
            machines: place.machines,
            cycle: place.cycle.into(),
            program: place.program.map(|program| Program {
                name: program.name,
                revision: program.revision,
            }),
            tools: place.tools.into_iter().map(ToolUse::from).collect(),
            clearances: place.clearances.into_iter().map(Clearance::from).collect(),
        }
    }
}

impl From<&Place> for PlaceDto {
    fn from(place: &Place) -> Self {
        Self {
            cell: place.cell,
            machines: place.machines.clone(),
            cycle: place.cycle.into(),
            program: place.program.as_ref().map(|program| ProgramDto {
                name: program.name.clone(),
                revision: program.revision.clone(),
            }),
            tools: place.tools.iter().map(ToolUseDto::from).collect(),
            clearances: place.clearances.iter().map(ClearanceDto::from).collect(),
        }
    }
}

impl From<CycleDto> for CycleTime {
    fn from(cycle: CycleDto) -> Self {
        match cycle {
            CycleDto::PerLoad { cycle_s } => Self::PerLoad {
                cycle_s: cycle_s.to(),
            },
            CycleDto::PerPiece { cycle_s } => Self::PerPiece {
                cycle_s: cycle_s.to(),
            },
        }
    }
}

impl From<CycleTime> for CycleDto {
    fn from(cycle: CycleTime) -> Self {
        let whole = |cycle_s: u32| Whole::clamped(i64::from(cycle_s));
        match cycle {
            CycleTime::PerLoad { cycle_s } => Self::PerLoad {
                cycle_s: whole(cycle_s),
            },
            CycleTime::PerPiece { cycle_s } => Self::PerPiece {
                cycle_s: whole(cycle_s),
            },
        }
    }
}

impl From<ToolUseDto> for ToolUse {
    fn from(used: ToolUseDto) -> Self {
        Self {
            tool: used.tool,
            used_s_per_load: used.used_s_per_load.to(),
        }
    }
}

impl From<&ToolUse> for ToolUseDto {
    fn from(used: &ToolUse) -> Self {
        Self {
            tool: used.tool.clone(),
            used_s_per_load: Whole::clamped(i64::from(used.used_s_per_load)),
        }
    }
}

impl From<ClearanceDto> for Clearance {
    fn from(clearance: ClearanceDto) -> Self {
        Self {
            machine: clearance.machine,
            checklist: clearance.checklist,
        }
    }
}

impl From<&Clearance> for ClearanceDto {
    fn from(clearance: &Clearance) -> Self {
        Self {
            machine: clearance.machine,
            checklist: clearance.checklist.clone(),
        }
    }
}
