use crate::auth::Caller;
use crate::http::body::invalid;
use crate::http::instant::Instant;
use crate::http::machines::dto::NoteText;
use crate::http::noted::Noted;
use crate::http::text;
use crate::http::whole::Whole;
use crate::problem::{Code as ProblemCode, FieldError, Place, Problem};
use serde::{Deserialize, Serialize};
use spindlebook_domain::code::Code;
use spindlebook_domain::floor::{self, OverridableRule, Override};
use spindlebook_domain::ids::{HoldId, JobId, LoadId, PartId, RunId};
use spindlebook_domain::load::{Clamped, Load, Stage};
use spindlebook_domain::role::Role;
use spindlebook_domain::shop::Shop;
use utoipa::ToSchema;

/// The pieces on a pallet.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Load)]
pub struct LoadDto {
    #[schema(value_type = uuid::Uuid)]
    pub id: LoadId,
    #[schema(value_type = text::Instant)]
    pub loaded_at: Instant,
    pub stage: StageName,
    /// The run that it is or was in; null before, and where it was cut before the book was opened.
    #[schema(value_type = Option<uuid::Uuid>)]
    pub run: Option<RunId>,
    /// The hold on it.
    #[schema(value_type = Option<uuid::Uuid>)]
    pub hold: Option<HoldId>,
    #[schema(max_items = 200)]
    pub pieces: Vec<ClampedDto>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = LoadStage)]
pub enum StageName {
    Ready,
    InRun,
    Cut,
    /// Its run was broken off.
    Aborted,
}

/// Pieces of one job at one operation.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Clamped)]
pub struct ClampedDto {
    #[schema(value_type = uuid::Uuid)]
    pub job: JobId,
    /// What people call the job; null once it is closed.
    #[schema(value_type = Option<text::Name>)]
    pub job_code: Option<String>,
    #[schema(value_type = Option<uuid::Uuid>)]
    pub part: Option<PartId>,
    #[schema(value_type = Option<text::Code>)]
    pub part_code: Option<Code>,
    #[schema(value_type = Option<text::Code>)]
    pub revision: Option<Code>,
    pub operation: u16,
    pub pieces: u32,
    /// They were cut before and are put right.
    pub rework: bool,
}

pub type OperationNumber = Whole<1, 9_999>;
pub type Pieces = Whole<0, 100_000>;

/// Pieces to clamp.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PiecesBody {
    #[schema(value_type = uuid::Uuid)]
    pub job: JobId,
    pub operation: OperationNumber,
    pub pieces: Pieces,
    /// Pieces that were cut before and are put right. They go on a load of their own.
    #[serde(default)]
    pub rework: bool,
}

/// A planner lets it happen against a rule that is not about quality, counts or what may run alone.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct OverrideBody {
    #[schema(value_type = text::OverridableRule)]
    pub rule: OverridableRule,
    #[schema(value_type = text::Note)]
    pub reason: NoteText,
}

/// Overrides are a planner's; the reasons are put aside.
pub fn read_overrides<O>(
    caller: &Caller<O>,
    bodies: Vec<OverrideBody>,
    reported: bool,
    noted: &mut Noted,
) -> Result<Vec<Override>, Problem> {
    if !bodies.is_empty() && reported {
        let detail = "What has happened needs no override: what it was against is recorded as a deviation. Leave `overrides` out.";
        let field = FieldError::at(Place::pointer("/overrides"), "reported", detail);
        return Err(invalid(field));
    }
    if !bodies.is_empty() && !caller.roles.contains(&Role::Planner) {
        let detail = "An override is a planner's decision; leave `overrides` out, or let a planner do it.";
        return Err(Problem::new(ProblemCode::RoleMissing, detail));
    }
    let read = |body: OverrideBody| Override {
        rule: body.rule,
        reason: noted.add(body.reason),
    };
    Ok(bodies.into_iter().map(read).collect())
}

impl From<PiecesBody> for Clamped {
    fn from(body: PiecesBody) -> Self {
        Self {
            job: body.job,
            operation: body.operation.to(),
            pieces: body.pieces.to(),
            rework: body.rework,
        }
    }
}

impl ClampedDto {
    pub fn of(one: &Clamped, shop: &Shop) -> Self {
        let job = shop.jobs.get(&one.job);
        let part = job.and_then(|job| shop.parts.get(&job.part));
        Self {
            job: one.job,
            job_code: job.map(|_| floor::job_name(shop, one.job)),
            part: job.map(|job| job.part),
            part_code: part.map(|part| part.code.clone()),
            revision: job.map(|job| job.revision.clone()),
            operation: one.operation,
            pieces: one.pieces,
            rework: one.rework,
        }
    }
}

impl LoadDto {
    pub fn of(load: &Load, shop: &Shop) -> Self {
        let stage = match load.stage {
            Stage::Ready => StageName::Ready,
            Stage::InRun { .. } => StageName::InRun,
            Stage::Cut { .. } => StageName::Cut,
            Stage::Aborted { .. } => StageName::Aborted,
        };
        Self {
            id: load.id,
            loaded_at: load.loaded_at.into(),
            stage,
            run: load.run(),
            hold: load.hold,
            pieces: load.clamped.iter().map(|one| ClampedDto::of(one, shop)).collect(),
        }
    }
}
