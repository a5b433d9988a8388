use super::dto::PinDto;
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::shown::Shown;
use crate::http::users::find;
use crate::problem::{Code, Problem};
use actix_web::get;
use actix_web::web::Path;
use spindlebook_domain::access::PrincipalKind;
use spindlebook_domain::ids::PrincipalId;
use spindlebook_store::pin;

/// Show how it stands with a user's PIN
///
/// Never the PIN itself: whether it is locked, and how many were wrong.
#[utoipa::path(
    operation_id = "getUserPin", tag = "Users",
    params(("id" = uuid::Uuid, Path, description = "The user's id")),
    responses((status = 200, description = "How it stands", body = PinDto))
)]
#[get("/v1/users/{id}/pin")]
pub async fn get_user_pin(ask: Ask<op::GetUserPin>, id: Path<PrincipalId>) -> Result<Shown, Problem> {
    let person = find(&ask.shop, *id, PrincipalKind::Person)?.id;
    let mut session = ask.book.store().session().await?;
    let all = pin::all(&mut session, ask.caller.site).await?;
    let row = all.iter().find(|row| row.person == person);
    let row = row.ok_or_else(|| Problem::new(Code::NotFound, format!("The user {person} has no PIN.")))?;
    Shown::new(&PinDto::from(row))
}
