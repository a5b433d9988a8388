use super::dto::LineActedDto;
use super::line_body::ShipBody;
use crate::auth::op;
use crate::http::ask::site_of;
use crate::http::command::{Act, Outcome, Reply};
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::ids::OrderId;
use uuid::Uuid;

/// Ship pieces of a line
///
/// Finished good pieces of one lot, in parts as wanted, and no more in all than the customer's tolerance takes.
#[utoipa::path(
    operation_id = "shipLine",
    tag = "Orders",
    params(("id" = Uuid, Path, description = "The order"), ("number" = u32, Path, description = "The line")),
    request_body = ShipBody,
    responses((status = 200, description = "What became of the line", body = LineActedDto))
)]
#[post("/v1/orders/{id}/lines/{number}/shipments")]
pub async fn ship_line(act: Act<op::ShipLine, ShipBody>, path: Path<(Uuid, u32)>) -> Outcome {
    let (id, number) = path.into_inner();
    let order = OrderId(id);
    let zone = site_of(&act.caller.shop)?.zone;
    let command = act.body.into_command(order, number, zone, act.draft.now())?;
    act.draft
        .occurred_at(Some(command.at))
        .submit(command, move |accepted| {
            Some(Reply::ok(&LineActedDto::of(accepted, order, number)?))
        })
        .await
}
