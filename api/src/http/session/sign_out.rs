use crate::auth::{Auth, Caller, op};
use crate::problem::Problem;
use actix_web::web::Data;
use actix_web::{HttpResponse, delete};

/// Sign out
///
/// Ends the session: its refresh token is good no more. A machine client has no session; its tokens expire.
#[utoipa::path(
    operation_id = "endSession", tag = "Session",
    responses((status = 204, description = "Signed out"))
)]
#[delete("/v1/session")]
pub async fn end_session(caller: Caller<op::EndSession>, auth: Data<Auth>) -> Result<HttpResponse, Problem> {
    if let Some(session) = caller.session {
        auth.sign_out(session).await?;
    }
    Ok(HttpResponse::NoContent().finish())
}
