use crate::http::instant::{AtLocal, Instant};
use crate::http::machines::dto::at_or_now;
use crate::http::orders::line_dto::{OperationNumber, Pieces};
use crate::http::text;
use crate::http::whole::Whole;
use crate::problem::Problem;
use chrono::NaiveDate;
use chrono_tz::Tz;
use serde::Deserialize;
use spindlebook_domain::code::Name;
use spindlebook_domain::ids::JobId;
use spindlebook_domain::job::{
    AddBlanks, Back, Counts, Moved, ReportInspected, ReportStepBack, ReportStepOut, SplitJob,
};
use spindlebook_domain::time::Timestamp;
use utoipa::ToSchema;

/// Pieces of one kind of outcome; 0 where none is meant.
pub type Count = Whole<0, 1_000_000>;

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"quantity": 20, "moved": [{"operation": 10, "pieces": 20}]}))]
pub struct SplitBody {
    /// Good pieces wanted of the new lot; the old one wants so many less.
    pub quantity: Pieces,
    /// Waiting pieces that go with it. Without any, the new lot gets blanks of its own.
    #[serde(default)]
    #[schema(max_items = 50)]
    pub moved: Vec<MovedBody>,
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = Moved)]
pub struct MovedBody {
    /// Where they wait.
    pub operation: OperationNumber,
    pub pieces: Pieces,
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"pieces": 2, "certificate": "Heat 4482"}))]
pub struct BlanksBody {
    pub pieces: Pieces,
    /// Heat or certificate; it is the job's own, or the job has none yet.
    #[schema(value_type = Option<text::Name>)]
    pub certificate: Option<Name>,
}

/// `at` or `at_local`; without either, now.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"operation": 20, "pieces": 12}))]
pub struct StepOutBody {
    pub operation: OperationNumber,
    pub pieces: Pieces,
    /// They are taken from those in rework, not from those that wait.
    #[serde(default)]
    pub from_rework: bool,
    #[schema(value_type = Option<text::Instant>)]
    pub at: Option<Instant>,
    pub at_local: Option<AtLocal>,
    /// As it was promised; without it, by the routing's lead time in the vendor's working days, or the site's.
    pub due: Option<NaiveDate>,
}

/// `at` or `at_local`; without either, now.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"step": 1, "good": 10, "damaged": 1, "missing": 1}))]
pub struct StepBackBody {
    pub step: Whole<1, 500>,
    #[serde(default = "none")]
    pub good: Count,
    /// They go to the inspector.
    #[serde(default = "none")]
    pub damaged: Count,
    /// They will not come: counted as scrapped.
    #[serde(default = "none")]
    pub missing: Count,
    #[schema(value_type = Option<text::Instant>)]
    pub at: Option<Instant>,
    pub at_local: Option<AtLocal>,
}

/// `at` or `at_local`; without either, now.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"operation": 20, "good": 1}))]
pub struct InspectedBody {
    pub operation: OperationNumber,
    #[serde(default = "none")]
    pub good: Count,
    #[serde(default = "none")]
    pub scrapped: Count,
    #[serde(default = "none")]
    pub rework: Count,
    /// Given back to whoever they belong to.
    #[serde(default = "none")]
    pub returned: Count,
    #[schema(value_type = Option<text::Instant>)]
    pub at: Option<Instant>,
    pub at_local: Option<AtLocal>,
}

fn none() -> Count {
    Whole::clamped(0)
}

impl SplitBody {
    pub fn into_command(self, job: JobId, into: JobId) -> SplitJob {
        let one = |moved: MovedBody| Moved {
            operation: moved.operation.to(),
            pieces: moved.pieces.to(),
        };
        SplitJob {
            job,
            into,
            quantity: self.quantity.to(),
            moved: self.moved.into_iter().map(one).collect(),
        }
    }
}

impl BlanksBody {
    pub fn into_command(self, job: JobId) -> AddBlanks {
        AddBlanks {
            job,
            pieces: self.pieces.to(),
            certificate: self.certificate,
        }
    }
}

impl StepOutBody {
    pub fn into_command(self, job: JobId, zone: Tz, now: Timestamp) -> Result<ReportStepOut, Problem> {
        Ok(ReportStepOut {
            job,
            operation: self.operation.to(),
            pieces: self.pieces.to(),
            from_rework: self.from_rework,
            at: at_or_now(zone, self.at, self.at_local, now)?,
            due: self.due,
        })
    }
}

impl StepBackBody {
    pub fn into_command(self, job: JobId, zone: Tz, now: Timestamp) -> Result<ReportStepBack, Problem> {
        Ok(ReportStepBack {
            job,
            step: self.step.to(),
            back: Back {
                good: self.good.to(),
                damaged: self.damaged.to(),
                missing: self.missing.to(),
            },
            at: at_or_now(zone, self.at, self.at_local, now)?,
        })
    }
}

impl InspectedBody {
    pub fn into_command(self, job: JobId, zone: Tz, now: Timestamp) -> Result<ReportInspected, Problem> {
        Ok(ReportInspected {
            job,
            operation: self.operation.to(),
            counts: Counts {
                good: self.good.to(),
                scrapped: self.scrapped.to(),
                rework: self.rework.to(),
                returned: self.returned.to(),
                inspection: 0,
            },
            at: at_or_now(zone, self.at, self.at_local, now)?,
        })
    }
}
