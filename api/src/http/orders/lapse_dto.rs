use chrono::NaiveDate;
use serde::Serialize;
use spindlebook_domain::inspection::Lapse;
use utoipa::ToSchema;

/// The part was not finished for so long that its customer wants the formal inspection again.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
#[schema(as = FirstArticleDue, example = json!({"last_finished": "2024-10-01", "days": 780, "after_months": 24}))]
pub struct LapseDto {
    pub last_finished: NaiveDate,
    /// From then to the day of entry, or of release.
    pub days: u32,
    /// As the customer's rule says.
    pub after_months: u16,
}

impl From<Lapse> for LapseDto {
    fn from(lapse: Lapse) -> Self {
        Self {
            last_finished: lapse.last_finished,
            days: lapse.days,
            after_months: lapse.after_months,
        }
    }
}
