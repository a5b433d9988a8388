use super::dto::ChangeOwnPasswordBody;
use crate::auth::{Auth, op};
use crate::book::Book;
use crate::http::command::{Act, Outcome, Reply};
use crate::http::users::password::{new_secret, set_secret};
use crate::problem::{Code, FieldError, Place, Problem};
use actix_web::post;
use actix_web::web::Data;
use spindlebook_domain::access::SetPrincipalSecret;

/// Change one's own password
///
/// Asks for the current one. Ends every session of yours, this one too: if the answer got lost, sign in with the new
/// one and send it again under its key.
#[utoipa::path(
    operation_id = "changeOwnPassword", tag = "Session", request_body = ChangeOwnPasswordBody,
    responses((status = 204, description = "Changed; sign in again"))
)]
#[post("/v1/session/password")]
pub async fn change_own_password(
    act: Act<op::ChangeOwnPassword, ChangeOwnPasswordBody>,
    auth: Data<Auth>,
    book: Data<Book>,
) -> Outcome {
    let Act { caller, body, draft } = act;
    if !auth
        .is_password_of(caller.site, caller.principal, body.current_password)
        .await?
    {
        // It may have been, until this very request changed it and its answer got lost. Asked only now, and of this
        // person's keys and this body alone, the key says nothing to whoever guesses: each guess counts as one.
        if let Some(before) = draft.answered_before().await? {
            return Ok(before);
        }
        let detail = "it is not your current password";
        let field = FieldError::at(Place::pointer("/current_password"), "wrong", detail);
        return Err(
            Problem::new(Code::PasswordWrong, format!("/current_password: {detail}.")).with_field(field),
        );
    }
    let hash = new_secret(&auth, &book, &caller.shop, caller.principal, body.password).await?;
    let answered = draft
        .with_private(set_secret(caller.principal, hash, auth.now()))
        .submit(
            SetPrincipalSecret {
                principal: caller.principal,
                expected: None,
            },
            |_| Some(Reply::no_content()),
        )
        .await?;
    if answered.is_accepted() {
        auth.end_sessions_of(caller.principal).await?;
    }
    Ok(answered)
}
