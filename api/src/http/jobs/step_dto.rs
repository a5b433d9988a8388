use crate::http::instant::Instant;
use crate::http::text;
use chrono::NaiveDate;
use serde::Serialize;
use spindlebook_domain::ids::{JobId, VendorId};
use spindlebook_domain::job::StepOut;
use utoipa::ToSchema;

/// Pieces handed over to a manual step, in the house or to a vendor.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Step)]
pub struct StepDto {
    /// Counted from 1 over all operations of the job.
    pub step: u32,
    /// Null: in the house.
    #[schema(value_type = Option<uuid::Uuid>)]
    pub vendor: Option<VendorId>,
    pub pieces: u32,
    #[schema(value_type = text::Instant)]
    pub at: Instant,
    /// The day by whose end it should be back. Null: the calendar tells none.
    pub due: Option<NaiveDate>,
    /// What has come back so far.
    pub good: u32,
    /// With the inspector since.
    pub damaged: u32,
    /// Lost: counted as scrapped.
    pub missing: u32,
    pub still_out: u32,
    #[schema(value_type = Option<text::Instant>)]
    pub last_back_at: Option<Instant>,
}

/// A step that is not back, with the job that it is of.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = OpenStep)]
pub struct OpenStepDto {
    #[schema(value_type = uuid::Uuid)]
    pub job: JobId,
    /// What people call the job.
    #[schema(max_length = 60)]
    pub job_name: String,
    pub operation: u32,
    #[serde(flatten)]
    pub step: StepDto,
    /// The day on which it should have been back is over at the site.
    pub overdue: bool,
}

/// A page of steps that are not back.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"items": [{"job": "01936b5e-5c00-7000-8000-000000000801", "job_name": "SO-1041/1", "operation": 20,
    "step": 1, "vendor": "01936b5e-5c00-7000-8000-000000000201", "pieces": 12, "at": "2026-11-02T06:00:00Z",
    "due": "2026-11-09", "good": 10, "damaged": 1, "missing": 0, "still_out": 1, "last_back_at": "2026-11-09T13:00:00Z",
    "overdue": true}], "next_cursor": null}))]
pub struct StepPage {
    #[schema(max_items = 200)]
    pub items: Vec<OpenStepDto>,
    /// Null on the last page.
    #[schema(value_type = Option<text::Cursor>)]
    pub next_cursor: Option<String>,
}

impl From<&StepOut> for StepDto {
    fn from(step: &StepOut) -> Self {
        Self {
            step: step.step,
            vendor: step.vendor,
            pieces: step.pieces,
            at: step.at.into(),
            due: step.due,
            good: step.good,
            damaged: step.damaged,
            missing: step.missing,
            still_out: step.still_out(),
            last_back_at: step.last_back_at.map(Into::into),
        }
    }
}
