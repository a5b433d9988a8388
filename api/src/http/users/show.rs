use super::dto::UserDto;
use super::find;
use crate::auth::{Caller, op};
use crate::book::Book;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;
use actix_web::web::{Data, Path};
use spindlebook_domain::access::PrincipalKind;
use spindlebook_domain::ids::PrincipalId;
use spindlebook_store::account;

/// Show a user
#[utoipa::path(
    operation_id = "getUser", tag = "Users", params(("id" = uuid::Uuid, Path, description = "The user's id")),
    responses((status = 200, description = "The user", body = UserDto))
)]
#[get("/v1/users/{id}")]
pub async fn get_user(
    caller: Caller<op::GetUser>,
    id: Path<PrincipalId>,
    book: Data<Book>,
) -> Result<Shown, Problem> {
    let principal = find(&caller.shop, *id, PrincipalKind::Person)?;
    let account = account::by_id(&mut book.store().session().await?, *id).await?;
    Ok(Shown::new(&UserDto::new(principal, account.as_ref()))?
        .at(principal.changed_seq)
        .personal())
}
