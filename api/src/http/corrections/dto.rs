use crate::http::body::invalid;
use crate::http::instant::{AtLocal, Instant};
use crate::http::machines::dto::{NoteText, at_if_told};
use crate::http::pallets::act_dto::CountBody;
use crate::http::text;
use crate::problem::{FieldError, Place, Problem};
use chrono_tz::Tz;
use serde::{Deserialize, Serialize};
use spindlebook_domain::correction::Change;
use spindlebook_domain::floor::Count;
use spindlebook_domain::ids::Seq;
use utoipa::ToSchema;

/// What is to be put right. Each change takes its own members and no others.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = Correction, example = json!({"change": "time", "at": "2026-11-02T08:10:00Z", "note": "Read off the control"}))]
pub struct CorrectionBody {
    pub change: ChangeName,
    /// For `time`: when it happened, here or as local time.
    #[schema(value_type = Option<text::Instant>)]
    pub at: Option<Instant>,
    pub at_local: Option<AtLocal>,
    /// For `counts`: all of them as they are right, each job operation once.
    #[schema(max_items = 200)]
    pub counts: Option<Vec<CountBody>>,
    #[schema(value_type = Option<text::Note>)]
    pub note: Option<NoteText>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = CorrectionChange)]
pub enum ChangeName {
    /// It did not happen.
    Withdraw,
    /// It happened at another time.
    Time,
    /// The pieces were counted wrong.
    Counts,
}

/// The entry that puts the other one right.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Corrected, example = json!({"corrects": 40, "entry": 47, "kind": "run.retimed"}))]
pub struct CorrectedDto {
    #[schema(value_type = text::Seq)]
    pub corrects: Seq,
    #[schema(value_type = text::Seq)]
    pub entry: Seq,
    #[schema(max_length = 64, pattern = r"^[a-z_]+\.[a-z_]+$")]
    pub kind: &'static str,
}

impl CorrectionBody {
    /// The change and its note.
    pub fn read(self, zone: Tz) -> Result<(Change, Option<NoteText>), Problem> {
        let has_at = self.at.is_some() || self.at_local.is_some();
        let unwanted = match self.change {
            ChangeName::Counts => has_at.then_some("/at"),
            ChangeName::Withdraw if has_at => Some("/at"),
            ChangeName::Time | ChangeName::Withdraw => self.counts.is_some().then_some("/counts"),
        };
        if let Some(pointer) = unwanted {
            let detail = "This change takes no such member; leave it out.";
            return Err(invalid(FieldError::at(
                Place::pointer(pointer),
                "unexpected",
                detail,
            )));
        }
        let missing = |pointer: &str, detail: &str| {
            invalid(FieldError::at(
                Place::pointer(pointer),
                "missing",
                detail.to_owned(),
            ))
        };
        let change = match self.change {
            ChangeName::Withdraw => Change::Withdraw,
            ChangeName::Time => {
                let at = at_if_told(zone, self.at, self.at_local)?;
                Change::Time(at.ok_or_else(|| missing("/at", "Say when it happened."))?)
            }
            ChangeName::Counts => {
                let counts = self
                    .counts
                    .ok_or_else(|| missing("/counts", "Give all counts as they are right."))?;
                Change::Counts(counts.into_iter().map(Count::from).collect())
            }
        };
        Ok((change, self.note))
    }
}
