use super::dto::ParkedActDto;
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;
use actix_web::web::Path;
use spindlebook_domain::ids::ParkedId;
use spindlebook_domain::late::LateRefusal;
use spindlebook_domain::refusal::Refusal;
use uuid::Uuid;

/// Get a parked act
#[utoipa::path(
    operation_id = "getParkedAct",
    tag = "Late acts",
    params(("id" = Uuid, Path, description = "The parked act")),
    responses((status = 200, description = "The act, with both sides", body = ParkedActDto))
)]
#[get("/v1/parked-acts/{id}")]
pub async fn get_parked_act(ask: Ask<op::GetParkedAct>, id: Path<Uuid>) -> Result<Shown, Problem> {
    let parked = ParkedId(id.into_inner());
    let unknown = || Problem::from(Refusal::from(LateRefusal::Unknown { parked }));
    let known = ask.shop.parked.get(&parked).ok_or_else(unknown)?;
    Ok(Shown::new(&ParkedActDto::of(known, &ask.shop, ask.book.now()))?.at(known.seq))
}
