use super::dto::PalletDto;
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::find;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;
use actix_web::web::Path;
use spindlebook_domain::ids::PalletId;
use uuid::Uuid;

/// Get a pallet
#[utoipa::path(
    operation_id = "getPallet",
    tag = "Pallets",
    params(("id" = Uuid, Path, description = "The pallet")),
    responses((status = 200, description = "The pallet", body = PalletDto))
)]
#[get("/v1/pallets/{id}")]
pub async fn get_pallet(ask: Ask<op::GetPallet>, id: Path<Uuid>) -> Result<Shown, Problem> {
    let pallet = find::pallet_at(&ask.shop, PalletId(id.into_inner()))?;
    Ok(Shown::new(&PalletDto::of(pallet, &ask.shop))?.at(pallet.changed_seq))
}
