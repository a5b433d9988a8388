use super::dto::SetPasswordBody;
use super::find;
use crate::auth::{Auth, Login, Secret, check_new, op};
use crate::book::{Book, PrivateRows};
use crate::http::command::{Act, Outcome, Reply};
use crate::problem::{Code, FieldError, Place, Problem};
use actix_web::put;
use actix_web::web::{Data, Path};
use spindlebook_domain::access::{PrincipalKind, SetPrincipalSecret};
use spindlebook_domain::ids::PrincipalId;
use spindlebook_domain::shop::Shop;
use spindlebook_domain::time::Timestamp;
use spindlebook_store::account;
use spindlebook_store::private::AccountChange;

/// Set a user's password
///
/// Ends all sessions of the user.
#[utoipa::path(
    operation_id = "setUserPassword", tag = "Users", request_body = SetPasswordBody,
    params(("id" = uuid::Uuid, Path, description = "The user's id")),
    responses((status = 204, description = "Set"))
)]
#[put("/v1/users/{id}/password")]
pub async fn set_user_password(
    act: Act<op::SetUserPassword, SetPasswordBody>,
    id: Path<PrincipalId>,
    auth: Data<Auth>,
    book: Data<Book>,
) -> Outcome {
    let Act { caller, body, draft } = act;
    let expected = draft.if_match()?;
    let id = find(&caller.shop, *id, PrincipalKind::Person)?.id;
    let hash = new_secret(&auth, &book, &caller.shop, id, body.password).await?;
    let answered = draft
        .with_private(set_secret(id, hash, auth.now()))
        .submit(
            SetPrincipalSecret {
                principal: id,
                expected,
            },
            |_| Some(Reply::no_content()),
        )
        .await?;
    if answered.is_accepted() {
        auth.end_sessions_of(id).await?;
    }
    Ok(answered)
}

/// Checks a new password of somebody who is there and hashes it.
pub async fn new_secret(
    auth: &Auth,
    book: &Book,
    shop: &Shop,
    id: PrincipalId,
    password: Secret,
) -> Result<String, Problem> {
    let account = account::by_id(&mut book.store().session().await?, id).await?;
    if let Some(login) = account.and_then(|account| Login::try_from(account.login).ok()) {
        check(&password, &login, shop)?;
    }
    auth.passwords
        .hash(password)
        .await
        .map_err(|error| Problem::fault(&error))
}

pub fn check(password: &Secret, login: &Login, shop: &Shop) -> Result<(), Problem> {
    let site_words = shop
        .site
        .iter()
        .flat_map(|site| [site.code.as_str(), site.name.as_str()]);
    check_new(password, login, &site_words.collect::<Vec<_>>()).map_err(|weak| {
        let field = FieldError::at(
            Place::pointer("/password"),
            Code::PasswordWeak.as_str(),
            weak.to_string(),
        );
        Problem::new(Code::PasswordWeak, format!("/password: {weak}.")).with_field(field)
    })
}

pub fn set_secret(id: PrincipalId, secret_hash: String, at: Timestamp) -> PrivateRows {
    PrivateRows {
        account: Some(AccountChange::SetSecret { id, secret_hash, at }),
        ..PrivateRows::default()
    }
}
