use super::dto::OrderDto;
use super::kept;
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;
use actix_web::web::Path;
use spindlebook_domain::ids::OrderId;
use uuid::Uuid;

/// Get an order
///
/// A closed one, too. Its version rises with every piece that moves; a change of the order itself is decided on what the
/// order's own fields were.
#[utoipa::path(
    operation_id = "getOrder",
    tag = "Orders",
    params(("id" = Uuid, Path, description = "The order")),
    responses((status = 200, description = "The order", body = OrderDto))
)]
#[get("/v1/orders/{id}")]
pub async fn get_order(ask: Ask<op::GetOrder>, id: Path<Uuid>) -> Result<Shown, Problem> {
    let found = kept::order(&ask, OrderId(id.into_inner())).await?;
    let (shown, version) = OrderDto::kept(&ask.shop, &found);
    Ok(Shown::new(&shown)?.at(version))
}
