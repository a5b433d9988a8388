use super::dto::SetOwnPinBody;
use super::set_pin::new_pin;
use crate::auth::{Auth, op};
use crate::http::command::{Act, Outcome, Reply};
use crate::problem::{Code, FieldError, Place, Problem};
use actix_web::post;
use actix_web::web::Data;
use spindlebook_domain::device::SetPin;

/// Set one's own PIN
///
/// Asks for the password; a badge does not do. Ends one's badges.
#[utoipa::path(
    operation_id = "setOwnPin", tag = "Session", request_body = SetOwnPinBody,
    responses((status = 204, description = "Set"))
)]
#[post("/v1/session/pin")]
pub async fn set_own_pin(act: Act<op::SetOwnPin, SetOwnPinBody>, auth: Data<Auth>) -> Outcome {
    let Act { caller, body, draft } = act;
    let person = caller.principal;
    let is_right = auth
        .is_password_of(caller.site, person, body.current_password)
        .await?;
    if !is_right {
        let detail = "it is not your current password";
        let field = FieldError::at(Place::pointer("/current_password"), "wrong", detail);
        let problem = Problem::new(Code::PasswordWrong, format!("/current_password: {detail}."));
        return Err(problem.with_field(field));
    }
    let pin_hash = auth.pins.hash_new(person, &body.pin).await?;
    draft
        .with_private(new_pin(person, pin_hash, auth.now()))
        .submit(SetPin { person }, |_| Some(Reply::no_content()))
        .await
}
