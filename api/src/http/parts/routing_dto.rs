use crate::http::body;
use crate::http::text;
use crate::http::whole::Whole;
use crate::problem::{FieldError, Place as At, Problem};
use serde::{Deserialize, Serialize};
use spindlebook_domain::code::{Code, Name};
use spindlebook_domain::ids::{CellId, FixtureId, MachineId, PartId, Seq, VendorId};
use spindlebook_domain::part::{
    Clearance, CycleTime, Lead, Link, Machining, Manual, Operation, Part, Place, Program, Revision, Routing,
    SetRouting, ToolUse, Work,
};
use utoipa::ToSchema;

/// Seconds of one load, at most a week.
pub type CycleS = Whole<1, 604_800>;
/// Seconds of handling, at most a day.
pub type HandlingS = Whole<0, 86_400>;

/// The routing of one revision.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Routing)]
pub struct RoutingDto {
    #[schema(value_type = uuid::Uuid)]
    pub part: PartId,
    #[schema(value_type = text::Code)]
    pub revision: Code,
    /// In ascending order.
    #[schema(max_items = 50)]
    pub operations: Vec<OperationDto>,
    /// The entry that set it.
    #[schema(value_type = text::Seq)]
    pub routing_seq: Seq,
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"revision": "A", "operations": [
    {"number": 5, "name": "Saw", "manual": {"lead": {"staffed_time": {"lead_s": 3600}}}},
    {"number": 10, "name": "Mill four sides", "machining": {"places": [{"cell": "01936b5e-5c00-7000-8000-0000000000c1",
    "cycle": {"per_load": {"cycle_s": 2880}}, "program": {"name": "O4711-10", "revision": "3"},
    "tools": [{"tool": "T12", "used_s_per_load": 900}], "clearances": [{"machine": "01936b5e-5c00-7000-8000-0000000000a1",
    "checklist": ["Coolant level", "Chip conveyor runs"]}]}], "fixtures": ["01936b5e-5c00-7000-8000-000000000401"],
    "pieces_per_load": 6, "load_s": 600, "unload_s": 300, "setup_sheet": "https://files.example/4711-10.pdf",
    "first_piece": true}},
    {"number": 20, "name": "Hard anodise", "manual": {"lead": {"working_days": {"lead_days": 5}},
    "vendor": "01936b5e-5c00-7000-8000-000000000601"}}]}))]
pub struct RoutingBody {
    #[schema(value_type = text::Code)]
    pub revision: Code,
    /// In ascending order.
    #[schema(min_items = 1, max_items = 50)]
    pub operations: Vec<OperationDto>,
}

/// Either `machining` or `manual`.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = Operation)]
pub struct OperationDto {
    /// 10, 20, 30 by custom, so that another fits between.
    pub number: Whole<1, 9_999>,
    #[schema(value_type = text::Name)]
    pub name: Name,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub machining: Option<MachiningDto>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub manual: Option<ManualDto>,
}

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
#[serde(rename_all = "snake_case", deny_unknown_fields)]
#[schema(as = CycleTime)]
pub enum CycleDto {
    PerLoad { cycle_s: CycleS },
    PerPiece { cycle_s: CycleS },
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

#[derive(Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = ManualStep)]
pub struct ManualDto {
    pub lead: LeadDto,
    /// Without it the step is done in the house.
    #[serde(default)]
    #[schema(value_type = Option<uuid::Uuid>)]
    pub vendor: Option<VendorId>,
}

/// Staffed time of the site, or working days of the vendor (of the site in the house). The day of receipt does not count.
#[derive(Clone, Copy, Debug, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
#[schema(as = Lead)]
pub enum LeadDto {
    StaffedTime { lead_s: Whole<0, 31_536_000> },
    WorkingDays { lead_days: Whole<0, 365> },
}

impl RoutingBody {
    pub fn into_command(self, part: PartId, expected: Option<Seq>) -> Result<SetRouting, Problem> {
        let operations = self.operations.into_iter().enumerate();
        let operations = operations.map(|(index, operation)| operation.read(index));
        Ok(SetRouting {
            part,
            revision: self.revision,
            routing: Routing {
                operations: operations.collect::<Result<_, _>>()?,
            },
            expected,
        })
    }
}

impl OperationDto {
    fn read(self, index: usize) -> Result<Operation, Problem> {
        let wrong = |field: &str, code, detail: &str| {
            let place = At::pointer(format!("/operations/{index}/{field}"));
            body::invalid(FieldError::at(place, code, detail))
        };
        let work = match (self.machining, self.manual) {
            (Some(machining), None) => Work::Machining(machining.into()),
            (None, Some(manual)) => Work::Manual(manual.into()),
            (Some(_), Some(_)) => {
                return Err(wrong(
                    "manual",
                    "unknown",
                    "an operation is either `machining` or `manual`, not both",
                ));
            }
            (None, None) => {
                return Err(wrong(
                    "machining",
                    "missing",
                    "say `machining` or `manual`: where is it done?",
                ));
            }
        };
        Ok(Operation {
            number: self.number.to(),
            name: self.name,
            work,
        })
    }
}

impl RoutingDto {
    /// `None`: the revision has no routing.
    pub fn of(part: &Part, revision: &Revision) -> Option<Self> {
        let routing = revision.routing.as_ref()?;
        Some(Self {
            part: part.id,
            revision: revision.facts.revision.clone(),
            operations: routing.operations.iter().map(OperationDto::from).collect(),
            routing_seq: revision.routing_seq,
        })
    }
}

impl From<&Operation> for OperationDto {
    fn from(operation: &Operation) -> Self {
        let (machining, manual) = match &operation.work {
            Work::Machining(machining) => (Some(machining.into()), None),
            Work::Manual(manual) => (None, Some(manual.into())),
        };
        Self {
            number: Whole::clamped(i64::from(operation.number)),
            name: operation.name.clone(),
            machining,
            manual,
        }
    }
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

impl From<ManualDto> for Manual {
    fn from(manual: ManualDto) -> Self {
        let lead = match manual.lead {
            LeadDto::StaffedTime { lead_s } => Lead::StaffedTime { lead_s: lead_s.to() },
            LeadDto::WorkingDays { lead_days } => Lead::WorkingDays {
                lead_days: lead_days.to(),
            },
        };
        Self {
            lead,
            vendor: manual.vendor,
        }
    }
}

impl From<&Manual> for ManualDto {
    fn from(manual: &Manual) -> Self {
        let lead = match manual.lead {
            Lead::StaffedTime { lead_s } => LeadDto::StaffedTime {
                lead_s: Whole::clamped(i64::from(lead_s)),
            },
            Lead::WorkingDays { lead_days } => LeadDto::WorkingDays {
                lead_days: Whole::clamped(i64::from(lead_days)),
            },
        };
        Self {
            lead,
            vendor: manual.vendor,
        }
    }
}
