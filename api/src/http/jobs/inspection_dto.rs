use crate::http::instant::{AtLocal, Instant};
use crate::http::machines::dto::NoteText;
use crate::http::text;
use serde::{Deserialize, Serialize};
use spindlebook_domain::ids::{HoldId, LoadId, PrincipalId, Seq};
use spindlebook_domain::job::Inspection;
use spindlebook_domain::load::Disposition;
use utoipa::ToSchema;

/// What an inspector said of pieces of a job.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Inspection, example = json!({"seq": 812, "operation": 10, "good": 0, "scrapped": 1, "rework": 0, "returned": 0,
    "disposition": "scrap", "hold": "01936b5e-5c00-7000-8000-000000000801", "load": null,
    "by": "01936b5e-5c00-7000-8000-000000000021", "at": "2026-11-02T08:20:00Z", "reversed_by": 815}))]
pub struct InspectionDto {
    /// The entry that says so.
    #[schema(value_type = text::Seq)]
    pub seq: Seq,
    pub operation: u16,
    pub good: u32,
    pub scrapped: u32,
    pub rework: u32,
    pub returned: u32,
    /// Null: reported of pieces that no hold was about.
    #[schema(value_type = Option<text::Disposition>)]
    pub disposition: Option<Disposition>,
    #[schema(value_type = Option<uuid::Uuid>)]
    pub hold: Option<HoldId>,
    /// The load on which the pieces were clamped then; null: they lay in inspection.
    #[schema(value_type = Option<uuid::Uuid>)]
    pub load: Option<LoadId>,
    /// Whoever said it; null: the service's command line.
    #[schema(value_type = Option<uuid::Uuid>)]
    pub by: Option<PrincipalId>,
    #[schema(value_type = text::Instant)]
    pub at: Instant,
    /// The entry by which it counts no more.
    #[schema(value_type = Option<text::Seq>)]
    pub reversed_by: Option<Seq>,
}

/// The newest first.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"items": [], "next_cursor": null}))]
pub struct InspectionPage {
    #[schema(max_items = 200)]
    pub items: Vec<InspectionDto>,
    /// Null on the last page.
    #[schema(value_type = Option<text::Cursor>)]
    pub next_cursor: Option<String>,
}

/// `at` or `at_local`; without either, now.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"note": "It was the piece beside it"}))]
pub struct ReversalBody {
    /// Why. Needed.
    #[schema(value_type = Option<text::Note>)]
    pub note: Option<NoteText>,
    #[schema(value_type = Option<text::Instant>)]
    pub at: Option<Instant>,
    pub at_local: Option<AtLocal>,
}

impl From<&Inspection> for InspectionDto {
    fn from(one: &Inspection) -> Self {
        Self {
            seq: one.seq,
            operation: one.operation,
            good: one.counts.good,
            scrapped: one.counts.scrapped,
            rework: one.counts.rework,
            returned: one.counts.returned,
            disposition: one.disposition,
            hold: one.hold,
            load: one.load,
            by: one.by,
            at: one.at.into(),
            reversed_by: one.reversed_by,
        }
    }
}
