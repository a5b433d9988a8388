use super::line_dto::Pieces;
use super::preview_dto::ChangePreviewDto;
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::parameters::Parameters;
use crate::http::shown::Shown;
use crate::http::whole::Whole;
use crate::problem::Problem;
use actix_web::get;
use actix_web::web::Path;
use serde::Deserialize;
use spindlebook_domain::ids::OrderId;
use spindlebook_domain::order::{open_line, preview, version};
use spindlebook_domain::refusal::Refusal;
use utoipa::IntoParams;
use uuid::Uuid;

#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct PreviewQuery {
    /// Without it, the quantity as it is.
    pub quantity: Option<Pieces>,
}

/// See what a change of quantity would do
///
/// What is made, clamped, out and shipped already, and what would be left. Nothing changes.
#[utoipa::path(
    operation_id = "getChangePreview",
    tag = "Orders",
    params(("id" = Uuid, Path, description = "The order"), ("number" = u32, Path, description = "The line"), PreviewQuery),
    responses((status = 200, description = "The line with that quantity", body = ChangePreviewDto))
)]
#[get("/v1/orders/{id}/lines/{number}/change-preview")]
pub async fn get_change_preview(
    ask: Ask<op::GetChangePreview>,
    path: Path<(Uuid, u32)>,
    query: Parameters<PreviewQuery>,
) -> Result<Shown, Problem> {
    let (id, number) = path.into_inner();
    let (order, line) =
        open_line(&ask.shop, OrderId(id), number).map_err(|refusal| Problem::from(Refusal::from(refusal)))?;
    let quantity = query.0.quantity.map_or(line.quantity, Whole::to);
    let version = version(&ask.shop, line);
    let preview = preview(&ask.shop, order, line, quantity);
    let shown = ChangePreviewDto::of(&preview, line.quantity, version);
    Ok(Shown::new(&shown)?.at(version))
}
