use super::dto::LineActedDto;
use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply};
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::ids::OrderId;
use spindlebook_domain::order::CompleteLine;
use uuid::Uuid;

/// Call a line complete
///
/// From the least quantity on that the customer's tolerance owes. A line that is exactly full completes by itself.
#[utoipa::path(
    operation_id = "completeLine",
    tag = "Orders",
    params(("id" = Uuid, Path, description = "The order"), ("number" = u32, Path, description = "The line")),
    responses((status = 200, description = "What became of the line", body = LineActedDto))
)]
#[post("/v1/orders/{id}/lines/{number}/complete")]
pub async fn complete_line(act: Act<op::CompleteLine>, path: Path<(Uuid, u32)>) -> Outcome {
    let (id, line) = path.into_inner();
    let order = OrderId(id);
    act.draft
        .submit(CompleteLine { order, line }, move |accepted| {
            Some(Reply::ok(&LineActedDto::of(accepted, order, line)?))
        })
        .await
}
