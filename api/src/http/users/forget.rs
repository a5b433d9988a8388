use super::dto::MemberDto;
use super::find;
use crate::auth::{Auth, op};
use crate::book::PrivateRows;
use crate::http::command::{Act, Outcome, Reply};
use actix_web::post;
use actix_web::web::{Data, Path};
use spindlebook_domain::access::{ForgetPrincipal, PrincipalKind};
use spindlebook_domain::ids::PrincipalId;
use spindlebook_store::private::AccountChange;

/// Forget a user
///
/// Blanks name, login and password for good. What they did stays in the ledger under an id that means nobody any more.
#[utoipa::path(
    operation_id = "forgetUser", tag = "Users",
    params(("id" = uuid::Uuid, Path, description = "The user's id")),
    responses((status = 200, description = "Forgotten", body = MemberDto))
)]
#[post("/v1/users/{id}/forget")]
pub async fn forget_user(act: Act<op::ForgetUser>, id: Path<PrincipalId>, auth: Data<Auth>) -> Outcome {
    let Act { caller, draft, .. } = act;
    let id = find(&caller.shop, *id, PrincipalKind::Person)?.id;
    let account = AccountChange::Forget { id, at: auth.now() };
    draft
        .with_private(PrivateRows {
            account: Some(account),
            ..PrivateRows::default()
        })
        .submit(ForgetPrincipal { principal: id }, move |done| {
            let principal = done.shop.principals.get(&id)?;
            Some(Reply::ok(&MemberDto::new(principal)).at(principal.changed_seq))
        })
        .await
}
