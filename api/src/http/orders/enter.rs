use super::dto::{EnterOrderBody, OrderDto};
use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply, new_id};
use actix_web::post;
use spindlebook_domain::ids::OrderId;

/// Enter an order
///
/// With its lines, each of a part and a revision that there are. Nothing is released yet.
#[utoipa::path(
    operation_id = "enterOrder",
    tag = "Orders",
    request_body = EnterOrderBody,
    responses((status = 201, description = "The new order", body = OrderDto))
)]
#[post("/v1/orders")]
pub async fn enter_order(act: Act<op::EnterOrder, EnterOrderBody>) -> Outcome {
    let order = OrderId(new_id());
    let command = act.body.into_command(order, act.draft.now());
    act.draft
        .submit(command, move |accepted| {
            let (shown, version) = OrderDto::open(accepted.shop, order)?;
            Some(Reply::created(format!("/v1/orders/{order}"), &shown).at(version))
        })
        .await
}
