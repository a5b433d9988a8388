use super::dto::{AddPalletBody, PalletDto};
use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply, new_id};
use actix_web::post;
use spindlebook_domain::ids::PalletId;

/// Add a pallet
///
/// Without `position` it stands at the first stand of the cell that is free, else at the first load station.
#[utoipa::path(
    operation_id = "addPallet",
    tag = "Pallets",
    request_body = AddPalletBody,
    responses((status = 201, description = "The new pallet", body = PalletDto))
)]
#[post("/v1/pallets")]
pub async fn add_pallet(act: Act<op::AddPallet, AddPalletBody>) -> Outcome {
    let pallet = PalletId(new_id());
    let command = act.body.into_command(pallet)?;
    act.draft
        .submit(command, move |accepted| {
            let pallet = accepted.shop.pallets.get(&pallet)?;
            let location = format!("/v1/pallets/{}", pallet.id);
            Some(Reply::created(location, &PalletDto::of(pallet, accepted.shop)).at(pallet.changed_seq))
        })
        .await
}
