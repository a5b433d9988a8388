use super::dto::{VendorBody, VendorDto};
use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply};
use actix_web::put;
use actix_web::web::Path;
use spindlebook_domain::ids::VendorId;
use uuid::Uuid;

/// Change a vendor
///
/// All its fields are replaced.
#[utoipa::path(
    operation_id = "changeVendor",
    tag = "Vendors",
    params(("id" = Uuid, Path, description = "The vendor")),
    request_body = VendorBody,
    responses((status = 200, description = "The vendor as it is now", body = VendorDto))
)]
#[put("/v1/vendors/{id}")]
pub async fn change_vendor(act: Act<op::ChangeVendor, VendorBody>, id: Path<Uuid>) -> Outcome {
    let vendor = VendorId(id.into_inner());
    let expected = act.draft.if_match()?;
    let command = act.body.into_change(vendor, expected);
    act.draft
        .submit(command, move |accepted| {
            let vendor = accepted.shop.vendors.get(&vendor)?;
            Some(Reply::ok(&VendorDto::of(vendor, accepted.shop)).at(vendor.changed_seq))
        })
        .await
}
