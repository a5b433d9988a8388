use crate::auth::op;
use crate::book::PrivateRows;
use crate::http::command::{Act, Outcome, Reply};
use crate::http::users::find;
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::access::PrincipalKind;
use spindlebook_domain::device::UnlockPin;
use spindlebook_domain::ids::PrincipalId;
use spindlebook_store::private::AccountChange;

/// Unlock a user's PIN
///
/// Forgets the wrong ones: the user may try again at once. Ask first who tried.
#[utoipa::path(
    operation_id = "unlockUserPin", tag = "Users",
    params(("id" = uuid::Uuid, Path, description = "The user's id")),
    responses((status = 204, description = "Unlocked, now or before"))
)]
#[post("/v1/users/{id}/pin/unlock")]
pub async fn unlock_user_pin(act: Act<op::UnlockUserPin>, id: Path<PrincipalId>) -> Outcome {
    let person = find(&act.caller.shop, *id, PrincipalKind::Person)?.id;
    let account = Some(AccountChange::UnlockPin { id: person });
    act.draft
        .with_private(PrivateRows {
            account,
            ..PrivateRows::default()
        })
        .submit(UnlockPin { person }, |_| Some(Reply::no_content()))
        .await
}
