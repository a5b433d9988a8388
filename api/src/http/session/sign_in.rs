use super::dto::{SessionDto, SignInBody};
use super::show::who;
use crate::auth::{Auth, Session, address_of};
use crate::book::Book;
use crate::http::body::Body;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::web::Data;
use actix_web::{HttpRequest, post};

/// Sign in
///
/// Gives an access token for some minutes and a refresh token that is good once.
#[utoipa::path(
    operation_id = "signIn", tag = "Session", request_body = SignInBody,
    responses((status = 200, description = "Signed in", body = SessionDto))
)]
#[post("/v1/session")]
pub async fn sign_in(
    request: HttpRequest,
    body: Body<SignInBody>,
    auth: Data<Auth>,
    book: Data<Book>,
) -> Result<Shown, Problem> {
    let SignInBody {
        site,
        login,
        password,
    } = body.value;
    let session = auth
        .sign_in(site.as_deref(), &login, password, address_of(&request))
        .await?;
    show(session, &book).await
}

pub(super) async fn show(session: Session, book: &Book) -> Result<Shown, Problem> {
    let principal = who(book, session.site, session.principal).await?;
    Ok(Shown::new(&SessionDto::new(session, principal))?.personal())
}
