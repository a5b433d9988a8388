use crate::http::text;
use serde::Serialize;
use spindlebook_domain::ids::Seq;
use spindlebook_domain::order::{OrderRefusal, Preview};
use utoipa::ToSchema;

/// What a line would be like with another quantity. Nothing has changed.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = ChangePreview, example = json!({"quantity_now": 20, "quantity": 12, "made": 14, "shipped": 0, "waiting": 4, "clamped": 2,
    "inspection": 0, "rework": 0, "out": 0, "still_to_make": 0, "surplus": 2, "not_wanted": 6, "material_shortfall": 0,
    "may_ship_least": 12, "may_ship_most": 12, "refused_by": null, "refused_because": null, "version": 61}))]
pub struct ChangePreviewDto {
    pub quantity_now: u32,
    pub quantity: u32,
    /// Finished good pieces.
    pub made: u32,
    pub shipped: u32,
    pub waiting: u32,
    pub clamped: u32,
    pub inspection: u32,
    pub rework: u32,
    /// At manual or outside steps.
    pub out: u32,
    pub still_to_make: u32,
    /// Finished pieces that could not be shipped on this line.
    pub surplus: u32,
    /// Pieces in work that nobody would want any more.
    pub not_wanted: u32,
    pub material_shortfall: u32,
    pub may_ship_least: u32,
    pub may_ship_most: u32,
    /// The code of the rule that would refuse it; null: it would be accepted.
    #[schema(value_type = Option<String>, max_length = 80)]
    pub refused_by: Option<&'static str>,
    #[schema(max_length = 400)]
    pub refused_because: Option<String>,
    /// Send it as `If-Match` with the change: then it is decided on what is shown here.
    #[schema(value_type = text::Seq)]
    pub version: Seq,
}

impl ChangePreviewDto {
    pub fn of(preview: &Preview, quantity_now: u32, version: Seq) -> Self {
        Self {
            quantity_now,
            quantity: preview.quantity,
            made: preview.made,
            shipped: preview.shipped,
            waiting: preview.waiting,
            clamped: preview.clamped,
            inspection: preview.inspection,
            rework: preview.rework,
            out: preview.out,
            still_to_make: preview.still_to_make,
            surplus: preview.surplus,
            not_wanted: preview.not_wanted,
            material_shortfall: preview.material_shortfall,
            may_ship_least: preview.may_ship_least,
            may_ship_most: preview.may_ship_most,
            refused_by: preview.refusal.as_ref().map(OrderRefusal::code),
            refused_because: preview.refusal.as_ref().map(ToString::to_string),
            version,
        }
    }
}
