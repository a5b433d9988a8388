use super::dto::{ChangeOrderBody, OrderDto};
use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply};
use actix_web::put;
use actix_web::web::Path;
use spindlebook_domain::ids::OrderId;
use uuid::Uuid;

/// Change an order
///
/// Its customer, and with that the tolerance on its quantities, and its reference.
#[utoipa::path(
    operation_id = "changeOrder",
    tag = "Orders",
    params(("id" = Uuid, Path, description = "The order")),
    request_body = ChangeOrderBody,
    responses((status = 200, description = "The order as it is now", body = OrderDto))
)]
#[put("/v1/orders/{id}")]
pub async fn change_order(act: Act<op::ChangeOrder, ChangeOrderBody>, id: Path<Uuid>) -> Outcome {
    let order = OrderId(id.into_inner());
    let expected = act.draft.if_match()?;
    let command = act.body.into_command(order, expected);
    act.draft
        .submit(command, move |accepted| {
            let (shown, version) = OrderDto::open(accepted.shop, order)?;
            Some(Reply::ok(&shown).at(version))
        })
        .await
}
