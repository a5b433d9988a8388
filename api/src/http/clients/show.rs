use super::dto::ClientDto;
use crate::auth::{Caller, op};
use crate::book::Book;
use crate::http::shown::Shown;
use crate::http::users::find;
use crate::problem::Problem;
use actix_web::get;
use actix_web::web::{Data, Path};
use spindlebook_domain::access::PrincipalKind;
use spindlebook_domain::ids::PrincipalId;
use spindlebook_store::account;

/// Show a machine client
#[utoipa::path(
    operation_id = "getClient", tag = "Clients",
    params(("id" = uuid::Uuid, Path, description = "The client's id")),
    responses((status = 200, description = "The client", body = ClientDto))
)]
#[get("/v1/clients/{id}")]
pub async fn get_client(
    caller: Caller<op::GetClient>,
    id: Path<PrincipalId>,
    book: Data<Book>,
) -> Result<Shown, Problem> {
    let principal = find(&caller.shop, *id, PrincipalKind::Client)?;
    let account = account::by_id(&mut book.store().session().await?, *id).await?;
    Ok(Shown::new(&ClientDto::new(principal, account.as_ref()))?.at(principal.changed_seq))
}
