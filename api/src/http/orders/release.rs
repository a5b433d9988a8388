use super::dto::OrderDto;
use super::line_body::ReleaseBody;
use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply, new_id};
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::ids::{JobId, OrderId};
use spindlebook_domain::order::{LINES_MAX, ReleaseOrder};
use uuid::Uuid;

/// Release lines of an order
///
/// Each becomes a job with the routing of its revision as it is now: later changes of the routing leave it alone. All
/// named lines are released, or none.
#[utoipa::path(
    operation_id = "releaseOrder",
    tag = "Orders",
    params(("id" = Uuid, Path, description = "The order")),
    request_body = ReleaseBody,
    responses((status = 200, description = "The order with its jobs", body = OrderDto))
)]
#[post("/v1/orders/{id}/release")]
pub async fn release_order(act: Act<op::ReleaseOrder, ReleaseBody>, id: Path<Uuid>) -> Outcome {
    let order = OrderId(id.into_inner());
    // How many lines are released is known only when it is decided.
    let jobs = (0..LINES_MAX).map(|_| JobId(new_id())).collect();
    let lines = act.body.into_lines();
    act.draft
        .submit(ReleaseOrder { order, lines, jobs }, move |accepted| {
            let (shown, version) = OrderDto::open(accepted.shop, order)?;
            Some(Reply::ok(&shown).at(version))
        })
        .await
}
