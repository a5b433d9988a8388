use super::dto::VendorDto;
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::find;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;
use actix_web::web::Path;
use spindlebook_domain::ids::VendorId;
use uuid::Uuid;

/// Get a vendor
#[utoipa::path(
    operation_id = "getVendor",
    tag = "Vendors",
    params(("id" = Uuid, Path, description = "The vendor")),
    responses((status = 200, description = "The vendor", body = VendorDto))
)]
#[get("/v1/vendors/{id}")]
pub async fn get_vendor(ask: Ask<op::GetVendor>, id: Path<Uuid>) -> Result<Shown, Problem> {
    let vendor = find::vendor_at(&ask.shop, VendorId(id.into_inner()))?;
    Ok(Shown::new(&VendorDto::of(vendor, &ask.shop))?.at(vendor.changed_seq))
}
