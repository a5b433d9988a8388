use super::dto::{ChangePalletBody, PalletDto};
use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply};
use actix_web::put;
use actix_web::web::Path;
use spindlebook_domain::ids::PalletId;
use uuid::Uuid;

/// Change a pallet
///
/// All its fields are replaced. Its cell and its place stay as they are.
#[utoipa::path(
    operation_id = "changePallet",
    tag = "Pallets",
    params(("id" = Uuid, Path, description = "The pallet")),
    request_body = ChangePalletBody,
    responses((status = 200, description = "The pallet as it is now", body = PalletDto))
)]
#[put("/v1/pallets/{id}")]
pub async fn change_pallet(act: Act<op::ChangePallet, ChangePalletBody>, id: Path<Uuid>) -> Outcome {
    let pallet = PalletId(id.into_inner());
    let expected = act.draft.if_match()?;
    let command = act.body.into_change(pallet, expected);
    act.draft
        .submit(command, move |accepted| {
            let pallet = accepted.shop.pallets.get(&pallet)?;
            Some(Reply::ok(&PalletDto::of(pallet, accepted.shop)).at(pallet.changed_seq))
        })
        .await
}
