use super::dto::SetPinBody;
use crate::auth::{Auth, op};
use crate::book::PrivateRows;
use crate::http::command::{Act, Outcome, Reply};
use crate::http::users::find;
use actix_web::post;
use actix_web::web::{Data, Path};
use spindlebook_domain::access::PrincipalKind;
use spindlebook_domain::device::SetPin;
use spindlebook_domain::ids::PrincipalId;
use spindlebook_domain::time::Timestamp;
use spindlebook_store::private::AccountChange;

/// Set a user's PIN
///
/// For tablets. Ends the badges of the user, and forgets wrong PINs. Better: the user sets it.
#[utoipa::path(
    operation_id = "setUserPin", tag = "Users", request_body = SetPinBody,
    params(("id" = uuid::Uuid, Path, description = "The user's id")),
    responses((status = 204, description = "Set"))
)]
#[post("/v1/users/{id}/pin")]
pub async fn set_user_pin(
    act: Act<op::SetUserPin, SetPinBody>,
    id: Path<PrincipalId>,
    auth: Data<Auth>,
) -> Outcome {
    let Act { caller, body, draft } = act;
    let person = find(&caller.shop, *id, PrincipalKind::Person)?.id;
    let pin_hash = auth.pins.hash_new(person, &body.pin).await?;
    draft
        .with_private(new_pin(person, pin_hash, auth.now()))
        .submit(SetPin { person }, |_| Some(Reply::no_content()))
        .await
}

pub fn new_pin(id: PrincipalId, pin_hash: String, at: Timestamp) -> PrivateRows {
    PrivateRows {
        account: Some(AccountChange::SetPin { id, pin_hash, at }),
        ..PrivateRows::default()
    }
}
