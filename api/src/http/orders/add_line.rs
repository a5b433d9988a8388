use super::dto::OrderDto;
use super::line_body::NewLineBody;
use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply};
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::ids::OrderId;
use spindlebook_domain::order::AddLine;
use uuid::Uuid;

/// Add a line to an order
#[utoipa::path(
    operation_id = "addLine",
    tag = "Orders",
    params(("id" = Uuid, Path, description = "The order")),
    request_body = NewLineBody,
    responses((status = 201, description = "The order with all its lines", body = OrderDto))
)]
#[post("/v1/orders/{id}/lines")]
pub async fn add_line(act: Act<op::AddLine, NewLineBody>, id: Path<Uuid>) -> Outcome {
    let order = OrderId(id.into_inner());
    let line = act.body.into_line(act.draft.now());
    act.draft
        .submit(AddLine { order, line }, move |accepted| {
            let (shown, version) = OrderDto::open(accepted.shop, order)?;
            Some(Reply::created(format!("/v1/orders/{order}"), &shown).at(version))
        })
        .await
}
