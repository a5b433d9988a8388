use super::dto::OrderDto;
use super::kept;
use super::line_dto::LineDto;
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;
use actix_web::web::Path;
use spindlebook_domain::ids::OrderId;
use spindlebook_domain::order::OrderRefusal;
use spindlebook_domain::refusal::Refusal;
use uuid::Uuid;

/// Get a line of an order
///
/// Its `ETag` covers what has happened to its pieces: a change is decided on what was seen.
#[utoipa::path(
    operation_id = "getLine",
    tag = "Orders",
    params(("id" = Uuid, Path, description = "The order"), ("number" = u32, Path, description = "The line")),
    responses((status = 200, description = "The line", body = LineDto))
)]
#[get("/v1/orders/{id}/lines/{number}")]
pub async fn get_line(ask: Ask<op::GetLine>, path: Path<(Uuid, u32)>) -> Result<Shown, Problem> {
    let (id, number) = path.into_inner();
    let found = kept::order(&ask, OrderId(id)).await?;
    let (order, _) = OrderDto::kept(&ask.shop, &found);
    let line = order.lines.into_iter().find(|line| line.number == number);
    let line = line.ok_or_else(|| {
        Problem::from(Refusal::from(OrderRefusal::UnknownLine {
            order: OrderId(id),
            line: number,
        }))
    })?;
    Ok(Shown::new(&line)?.at(line.version))
}
