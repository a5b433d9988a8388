use super::dto::{RefreshBody, SessionDto};
use super::sign_in::show;
use crate::auth::{Auth, address_of};
use crate::book::Book;
use crate::http::body::Body;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::web::Data;
use actix_web::{HttpRequest, post};

/// Refresh a session
///
/// Gives new tokens for a refresh token. A refresh token that is sent a second time ends its whole session.
#[utoipa::path(
    operation_id = "refreshSession", tag = "Session", request_body = RefreshBody,
    responses((status = 200, description = "Refreshed", body = SessionDto))
)]
#[post("/v1/session/refresh")]
pub async fn refresh_session(
    request: HttpRequest,
    body: Body<RefreshBody>,
    auth: Data<Auth>,
    book: Data<Book>,
) -> Result<Shown, Problem> {
    let session = auth
        .refresh(&body.value.refresh_token, address_of(&request))
        .await?;
    show(session, &book).await
}
