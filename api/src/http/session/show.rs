use super::dto::WhoDto;
use crate::auth::{Caller, op};
use crate::book::Book;
use crate::http::shown::Shown;
use crate::problem::{Code, Problem};
use actix_web::get;
use actix_web::web::Data;
use spindlebook_domain::ids::{PrincipalId, SiteId};
use spindlebook_store::account;

/// Show who is signed in
#[utoipa::path(
    operation_id = "getSession", tag = "Session",
    responses((status = 200, description = "Who you are here, and your roles", body = WhoDto))
)]
#[get("/v1/session")]
pub async fn get_session(caller: Caller<op::GetSession>, book: Data<Book>) -> Result<Shown, Problem> {
    Ok(Shown::new(&who(&book, caller.site, caller.principal).await?)?.personal())
}

pub(super) async fn who(book: &Book, site: SiteId, principal: PrincipalId) -> Result<WhoDto, Problem> {
    let account = account::by_id(&mut book.store().session().await?, principal).await?;
    let shop = book.shop(site);
    let known = shop
        .as_deref()
        .and_then(|shop| Some((shop.principals.get(&principal)?, shop.site.as_ref()?)));
    let (principal, site) =
        known.ok_or_else(|| Problem::new(Code::NotFound, "You are not known at this site any more."))?;
    Ok(WhoDto::new(principal, account, site))
}
