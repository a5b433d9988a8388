use super::dto::LineActedDto;
use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply};
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::ids::OrderId;
use spindlebook_domain::order::CancelLine;
use uuid::Uuid;

/// Cancel a line
///
/// Refused once something of it is shipped, and while pieces are clamped, out or with the inspector: they are unloaded,
/// brought back and judged first.
#[utoipa::path(
    operation_id = "cancelLine",
    tag = "Orders",
    params(("id" = Uuid, Path, description = "The order"), ("number" = u32, Path, description = "The line")),
    responses((status = 200, description = "What became of the line", body = LineActedDto))
)]
#[post("/v1/orders/{id}/lines/{number}/cancel")]
pub async fn cancel_line(act: Act<op::CancelLine>, path: Path<(Uuid, u32)>) -> Outcome {
    let (id, line) = path.into_inner();
    let order = OrderId(id);
    act.draft
        .submit(CancelLine { order, line }, move |accepted| {
            Some(Reply::ok(&LineActedDto::of(accepted, order, line)?))
        })
        .await
}
