use super::dto::PartDto;
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::find;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;
use actix_web::web::Path;
use spindlebook_domain::ids::PartId;
use uuid::Uuid;

/// Get a part
#[utoipa::path(
    operation_id = "getPart",
    tag = "Parts",
    params(("id" = Uuid, Path, description = "The part")),
    responses((status = 200, description = "The part", body = PartDto))
)]
#[get("/v1/parts/{id}")]
pub async fn get_part(ask: Ask<op::GetPart>, id: Path<Uuid>) -> Result<Shown, Problem> {
    let part = find::part_at(&ask.shop, PartId(id.into_inner()))?;
    Ok(Shown::new(&PartDto::of(part, &ask.shop))?.at(part.changed_seq))
}
