use super::dto::line_shown;
use super::line_body::MaterialBody;
use super::line_dto::LineDto;
use crate::auth::op;
use crate::http::ask::site_of;
use crate::http::command::{Act, Outcome, Reply};
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::ids::OrderId;
use uuid::Uuid;

/// Say when material is expected, or that it is here
///
/// Until somebody says that it is here, nothing of the line is offered for loading.
#[utoipa::path(
    operation_id = "reportMaterial",
    tag = "Orders",
    params(("id" = Uuid, Path, description = "The order"), ("number" = u32, Path, description = "The line")),
    request_body = MaterialBody,
    responses((status = 200, description = "The line as it is now", body = LineDto))
)]
#[post("/v1/orders/{id}/lines/{number}/material")]
pub async fn report_material(act: Act<op::ReportMaterial, MaterialBody>, path: Path<(Uuid, u32)>) -> Outcome {
    let (id, number) = path.into_inner();
    let order = OrderId(id);
    let zone = site_of(&act.caller.shop)?.zone;
    let (command, at) = act.body.into_command(order, number, zone, act.draft.now())?;
    act.draft
        .occurred_at(at)
        .submit(command, move |accepted| {
            let line = line_shown(accepted.shop, order, number)?;
            Some(Reply::ok(&line).at(line.version))
        })
        .await
}
