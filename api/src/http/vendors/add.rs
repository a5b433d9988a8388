use super::dto::{VendorBody, VendorDto};
use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply, new_id};
use actix_web::post;
use spindlebook_domain::ids::VendorId;

/// Add a vendor
#[utoipa::path(
    operation_id = "addVendor",
    tag = "Vendors",
    request_body = VendorBody,
    responses((status = 201, description = "The new vendor", body = VendorDto))
)]
#[post("/v1/vendors")]
pub async fn add_vendor(act: Act<op::AddVendor, VendorBody>) -> Outcome {
    let vendor = VendorId(new_id());
    let command = act.body.into_command(vendor);
    act.draft
        .submit(command, move |accepted| {
            let vendor = accepted.shop.vendors.get(&vendor)?;
            let location = format!("/v1/vendors/{}", vendor.id);
            Some(Reply::created(location, &VendorDto::of(vendor, accepted.shop)).at(vendor.changed_seq))
        })
        .await
}
