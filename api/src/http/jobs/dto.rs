use super::step_dto::StepDto;
use crate::http::text;
use serde::Serialize;
use spindlebook_domain::code::{Code, Name};
use spindlebook_domain::ids::{JobId, OrderId, PartId, Seq};
use spindlebook_domain::job::{AtOperation, Job, JobState, LoadsToRun};
use spindlebook_domain::order::{Line, Order, Quoted, job_name};
use spindlebook_domain::part::{Operation, Work};
use utoipa::ToSchema;

/// A released line, or a lot split off from one.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Job, example = json!({"id": "01936b5e-5c00-7000-8000-000000000801", "name": "SO-1041/1",
    "order": "01936b5e-5c00-7000-8000-000000000701", "line": 1, "part": "01936b5e-5c00-7000-8000-000000000501",
    "revision": "A", "quantity": 25, "released": 25, "state": "open", "certificate": "Heat 4482", "parent": null,
    "waits_for_material": false, "made": 0, "shipped": 0, "still_to_make": 25, "surplus": 0, "expected_good": 25,
    "material_shortfall": 0, "operations": [{"number": 10, "name": "Mill four sides", "work": "machining", "came": 25,
    "waiting": 25, "clamped": 0, "inspection": 0, "good": 0, "scrapped": 0, "rework": 0, "out": 0, "returned": 0,
    "pieces_to_run": 25, "to_run": {"pieces_per_load": 6, "loads": 5, "pieces_in_last_load": 1,
    "empty_nests_in_last_load": 5, "cutting_s": 14400}, "quoted": {"setup_s": 3600, "run_s": 12000}, "steps": []}],
    "released_seq": 42, "version": 42}))]
pub struct JobDto {
    #[schema(value_type = uuid::Uuid)]
    pub id: JobId,
    /// What people call it: the order's number, the line, and the lot where there are several.
    #[schema(max_length = 60)]
    pub name: String,
    #[schema(value_type = uuid::Uuid)]
    pub order: OrderId,
    pub line: u32,
    #[schema(value_type = uuid::Uuid)]
    pub part: PartId,
    #[schema(value_type = text::Code)]
    pub revision: Code,
    /// Good pieces wanted.
    pub quantity: u32,
    /// Blanks given out for it.
    pub released: u32,
    pub state: JobStateName,
    /// Heat or certificate of the material.
    #[schema(value_type = Option<text::Name>)]
    pub certificate: Option<Name>,
    /// The lot that it was split off from.
    #[schema(value_type = Option<uuid::Uuid>)]
    pub parent: Option<JobId>,
    /// Nothing of it is offered for loading.
    pub waits_for_material: bool,
    /// Good at the last operation.
    pub made: u32,
    pub shipped: u32,
    /// Good pieces that are still wanted; never less than none.
    pub still_to_make: u32,
    /// Good pieces beyond the wanted ones.
    pub surplus: u32,
    /// If all goes well with the pieces in work, and no more is run than is wanted.
    pub expected_good: u32,
    /// Blanks that are lacking even if all that is in work comes good.
    pub material_shortfall: u32,
    #[schema(max_items = 50)]
    pub operations: Vec<AtOperationDto>,
    #[schema(value_type = text::Seq)]
    pub released_seq: Seq,
    /// The entry that last changed it or its line.
    #[schema(value_type = text::Seq)]
    pub version: Seq,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = JobState)]
pub enum JobStateName {
    Open,
    Complete,
    Cancelled,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = WorkKind)]
pub enum WorkName {
    Machining,
    Manual,
}

/// The pieces at one operation: what has come is in exactly one of the eight places.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = AtOperation)]
pub struct AtOperationDto {
    pub number: u32,
    #[schema(value_type = text::Name)]
    pub name: Name,
    pub work: WorkName,
    /// Blanks at the first operation, else the good ones of the operation before.
    pub came: u32,
    pub waiting: u32,
    pub clamped: u32,
    /// With the inspector.
    pub inspection: u32,
    pub good: u32,
    pub scrapped: u32,
    pub rework: u32,
    /// At a manual or outside step.
    pub out: u32,
    /// Given back to whoever they belong to.
    pub returned: u32,
    /// So many must still pass it, no more than there are.
    pub pieces_to_run: u32,
    /// Null for a manual step.
    pub to_run: Option<ToRunDto>,
    /// Null: nothing was quoted for it.
    pub quoted: Option<QuotedTimesDto>,
    #[schema(max_items = 500)]
    pub steps: Vec<StepDto>,
}

/// The loads that an operation still needs, by the frozen routing.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = ToRun)]
pub struct ToRunDto {
    pub pieces_per_load: u32,
    pub loads: u32,
    pub pieces_in_last_load: u32,
    pub empty_nests_in_last_load: u32,
    /// Planned time in cycle of all of them, at the place that the routing names first. A cycle time per load is the same
    /// for a load that is not full.
    pub cutting_s: u64,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(as = QuotedTimes)]
pub struct QuotedTimesDto {
    pub setup_s: u32,
    pub run_s: u32,
}

/// A page of jobs.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"items": [], "next_cursor": null}))]
pub struct JobPage {
    #[schema(max_items = 200)]
    pub items: Vec<JobDto>,
    /// Null on the last page.
    #[schema(value_type = Option<text::Cursor>)]
    pub next_cursor: Option<String>,
}

impl JobDto {
    pub fn of(job: &Job, order: Option<&Order>) -> Self {
        let line = order.and_then(|order| order.line(job.line));
        let quoted = line.map_or(&[][..], |line| &line.quoted);
        let operations = job.routing.operations.iter().zip(&job.operations);
        Self {
            id: job.id,
            name: order.map_or_else(|| job.id.to_string(), |order| job_name(order, job)),
            order: job.order,
            line: job.line,
            part: job.part,
            revision: job.revision.clone(),
            quantity: job.quantity,
            released: job.released,
            state: job.state.into(),
            certificate: job.certificate.clone(),
            parent: job.parent,
            waits_for_material: line.is_some_and(Line::waits_for_material),
            made: job.made(),
            shipped: line.map_or(0, |line| line.shipped_of(job.id)),
            still_to_make: if job.is_open() { job.still_to_make() } else { 0 },
            surplus: job.surplus(),
            expected_good: job.expected_good(),
            material_shortfall: if job.is_open() {
                job.material_shortfall()
            } else {
                0
            },
            operations: operations
                .map(|(operation, at)| AtOperationDto::of(job, operation, at, quoted))
                .collect(),
            released_seq: job.released_seq,
            version: line.map_or(job.changed_seq, |line| line.changed_seq.max(job.changed_seq)),
        }
    }
}

impl AtOperationDto {
    fn of(job: &Job, operation: &Operation, at: &AtOperation, quoted: &[Quoted]) -> Self {
        let quoted = quoted.iter().find(|quoted| quoted.operation == at.number);
        Self {
            number: u32::from(at.number),
            name: operation.name.clone(),
            work: match operation.work {
                Work::Machining(_) => WorkName::Machining,
                Work::Manual(_) => WorkName::Manual,
            },
            came: at.came,
            waiting: at.waiting(),
            clamped: at.clamped,
            inspection: at.inspection,
            good: at.good,
            scrapped: at.scrapped,
            rework: at.rework,
            out: at.out,
            returned: at.returned,
            pieces_to_run: job.pieces_to_run(at.number),
            to_run: job.loads_to_run(at.number).map(ToRunDto::from),
            quoted: quoted.map(|quoted| QuotedTimesDto {
                setup_s: quoted.setup_s,
                run_s: quoted.run_s,
            }),
            steps: at.outside.iter().map(StepDto::from).collect(),
        }
    }
}

impl From<LoadsToRun> for ToRunDto {
    fn from(to_run: LoadsToRun) -> Self {
        Self {
            pieces_per_load: to_run.pieces_per_load,
            loads: to_run.loads,
            pieces_in_last_load: to_run.pieces_in_last_load,
            empty_nests_in_last_load: to_run.empty_nests_in_last_load,
            cutting_s: to_run.cutting_s,
        }
    }
}

impl From<JobState> for JobStateName {
    fn from(state: JobState) -> Self {
        match state {
            JobState::Open => Self::Open,
            JobState::Complete => Self::Complete,
            JobState::Cancelled => Self::Cancelled,
        }
    }
}
