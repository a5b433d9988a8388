use super::machining_dto::MachiningDto;
use crate::http::body;
use crate::http::text;
use crate::http::whole::Whole;
use crate::problem::{FieldError, Place as At, Problem};
use serde::{Deserialize, Serialize};
use spindlebook_domain::code::{Code, Name};
use spindlebook_domain::ids::{PartId, Seq, VendorId};
use spindlebook_domain::part::{Lead, Manual, Operation, Part, Revision, Routing, SetRouting, Work};
use utoipa::ToSchema;

/// Up to a year.
pub type LeadS = Whole<0, 31_536_000>;
pub type LeadDays = Whole<0, 365>;

/// The routing of one revision.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Routing, example = json!({"part": "01936b5e-5c00-7000-8000-000000000501", "revision": "A", "routing_seq": 22, "operations": [
    {"number": 5, "name": "Saw", "manual": {"lead": {"staffed_time": {"lead_s": 3600}}}},
    {"number": 10, "name": "Mill four sides", "machining": {"places": [{"cell": "01936b5e-5c00-7000-8000-0000000000c1",
    "cycle": {"per_load": {"cycle_s": 2880}}, "program": {"name": "O4711-10", "revision": "3"},
    "tools": [{"tool": "T12", "used_s_per_load": 900}], "clearances": [{"machine": "01936b5e-5c00-7000-8000-0000000000a1",
    "checklist": ["Coolant level", "Chip conveyor runs"]}]}], "fixtures": ["01936b5e-5c00-7000-8000-000000000401"],
    "pieces_per_load": 6, "load_s": 600, "unload_s": 300, "setup_sheet": "https://files.example/4711-10.pdf",
    "first_piece": true}},
    {"number": 20, "name": "Hard anodise", "manual": {"lead": {"working_days": {"lead_days": 5}},
    "vendor": "01936b5e-5c00-7000-8000-000000000601"}}]}))]
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
#[serde(rename_all = "snake_case", try_from = "LeadFields")]
#[schema(as = Lead)]
pub enum LeadDto {
    StaffedTime { lead_s: LeadS },
    WorkingDays { lead_days: LeadDays },
}

/// A lead time on its way in: to a bare number it answers that it must say in which time it counts.
#[derive(Deserialize)]
#[serde(
    deny_unknown_fields,
    expecting = "an object that says how it counts, `staffed_time` or `working_days`: {\"working_days\": {\"lead_days\": 5}}"
)]
struct LeadFields {
    staffed_time: Option<StaffedLead>,
    working_days: Option<DaysOfLead>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct StaffedLead {
    lead_s: LeadS,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct DaysOfLead {
    lead_days: LeadDays,
}

impl TryFrom<LeadFields> for LeadDto {
    type Error = &'static str;

    fn try_from(fields: LeadFields) -> Result<Self, Self::Error> {
        match (fields.staffed_time, fields.working_days) {
            (Some(StaffedLead { lead_s }), None) => Ok(Self::StaffedTime { lead_s }),
            (None, Some(DaysOfLead { lead_days })) => Ok(Self::WorkingDays { lead_days }),
            _ => Err("say either `staffed_time` or `working_days`"),
        }
    }
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
