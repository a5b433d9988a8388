use super::dto::DeviceDto;
use super::find;
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;
use actix_web::web::Path;
use spindlebook_domain::ids::PrincipalId;
use spindlebook_store::account;

/// Show a tablet
///
/// With what its clock read when it delivered last, and who is badged in on it.
#[utoipa::path(
    operation_id = "getDevice", tag = "Tablets",
    params(("id" = uuid::Uuid, Path, description = "The tablet's id")),
    responses((status = 200, description = "The tablet", body = DeviceDto))
)]
#[get("/v1/devices/{id}")]
pub async fn get_device(ask: Ask<op::GetDevice>, id: Path<PrincipalId>) -> Result<Shown, Problem> {
    let principal = find(&ask.shop, *id)?;
    let account = account::by_id(&mut ask.book.store().session().await?, *id).await?;
    Shown::new(&DeviceDto::new(
        &ask.shop,
        principal,
        account.as_ref(),
        ask.book.now(),
    ))
}
