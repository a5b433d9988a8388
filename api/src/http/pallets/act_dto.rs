use super::dto::PositionDto;
use super::load_dto::{OperationNumber, OverrideBody, Pieces, PiecesBody};
use crate::http::instant::{AtLocal, Instant};
use crate::http::machines::dto::NoteText;
use crate::http::text;
use crate::http::whole::Whole;
use serde::Deserialize;
use spindlebook_domain::floor::Count;
use spindlebook_domain::ids::{FixtureCopyId, FixtureId, JobId};
use spindlebook_domain::load::HoldKind;
use utoipa::ToSchema;

/// `at` or `at_local`; without either, now.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"fixture": "01936b5e-5c00-7000-8000-000000000401"}))]
pub struct MountBody {
    #[schema(value_type = uuid::Uuid)]
    pub fixture: FixtureId,
    /// Without it the first copy that is free.
    #[schema(value_type = Option<uuid::Uuid>)]
    pub copy: Option<FixtureCopyId>,
    #[schema(value_type = Option<text::Instant>)]
    pub at: Option<Instant>,
    pub at_local: Option<AtLocal>,
    /// It happened before and is told now: what cannot be booked as things stand is parked, not refused.
    #[serde(default)]
    pub reported: bool,
}

/// `at` or `at_local`; without either, now.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"at": "2026-11-02T07:15:00Z"}))]
pub struct WhenBody {
    #[schema(value_type = Option<text::Instant>)]
    pub at: Option<Instant>,
    pub at_local: Option<AtLocal>,
    /// It happened before and is told now: what cannot be booked as things stand is parked, not refused.
    #[serde(default)]
    pub reported: bool,
}

/// `at` or `at_local`; without either, now.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"pieces": [{"job": "01936b5e-5c00-7000-8000-000000000901", "operation": 10, "pieces": 5}]}))]
pub struct LoadBody {
    #[schema(min_items = 1, max_items = 100)]
    pub pieces: Vec<PiecesBody>,
    #[schema(value_type = Option<text::Instant>)]
    pub at: Option<Instant>,
    pub at_local: Option<AtLocal>,
    /// It happened before and is told now: what cannot be booked as things stand is parked, not refused.
    #[serde(default)]
    pub reported: bool,
    #[serde(default)]
    #[schema(max_items = 10)]
    pub overrides: Vec<OverrideBody>,
}

/// `at` or `at_local`; without either, now.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"to": {"kind": "stand", "number": 2}}))]
pub struct MoveBody {
    pub to: PositionDto,
    /// The pallet that is there comes here in the same movement.
    #[serde(default)]
    pub exchange: bool,
    #[schema(value_type = Option<text::Instant>)]
    pub at: Option<Instant>,
    pub at_local: Option<AtLocal>,
    /// It happened before and is told now: what cannot be booked as things stand is parked, not refused.
    #[serde(default)]
    pub reported: bool,
}

/// `at` or `at_local`; without either, now.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"counts": [{"job": "01936b5e-5c00-7000-8000-000000000901", "operation": 10, "good": 4, "scrapped": 1}]}))]
pub struct UnloadBody {
    /// Each job operation that is clamped, once.
    #[schema(max_items = 200)]
    pub counts: Vec<CountBody>,
    #[schema(value_type = Option<text::Instant>)]
    pub at: Option<Instant>,
    pub at_local: Option<AtLocal>,
    /// It happened before and is told now: what cannot be booked as things stand is parked, not refused.
    #[serde(default)]
    pub reported: bool,
    #[schema(value_type = Option<text::Note>)]
    pub note: Option<NoteText>,
}

/// What became of the pieces: together as many as were clamped.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = Count)]
pub struct CountBody {
    #[schema(value_type = uuid::Uuid)]
    pub job: JobId,
    pub operation: OperationNumber,
    /// They had been clamped to be reworked.
    #[serde(default)]
    pub rework: bool,
    #[serde(default)]
    pub good: Option<Pieces>,
    #[serde(default)]
    pub scrapped: Option<Pieces>,
    #[serde(default)]
    pub to_rework: Option<Pieces>,
    #[serde(default)]
    pub to_inspection: Option<Pieces>,
    /// Taken off as they were put on.
    #[serde(default)]
    pub uncut: Option<Pieces>,
}

/// `at` or `at_local`; without either, now.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"note": "Burr on the sealing face"}))]
pub struct HoldBody {
    /// Somebody doubts it (`suspect`, without saying), or wants one of many measured (`in_process`).
    #[schema(value_type = Option<text::HoldKind>)]
    pub kind: Option<HoldKind>,
    #[schema(value_type = Option<text::Instant>)]
    pub at: Option<Instant>,
    pub at_local: Option<AtLocal>,
    /// It happened before and is told now: what cannot be booked as things stand is parked, not refused.
    #[serde(default)]
    pub reported: bool,
    #[schema(value_type = Option<text::Note>)]
    pub note: Option<NoteText>,
}

impl From<CountBody> for Count {
    fn from(body: CountBody) -> Self {
        let many = |pieces: Option<Pieces>| pieces.map_or(0, Whole::to);
        Self {
            job: body.job,
            operation: body.operation.to(),
            rework: body.rework,
            good: many(body.good),
            scrapped: many(body.scrapped),
            to_rework: many(body.to_rework),
            to_inspection: many(body.to_inspection),
            uncut: many(body.uncut),
        }
    }
}
