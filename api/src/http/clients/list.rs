use super::dto::{ClientDto, ClientsDto};
use crate::auth::{Caller, op};
use crate::book::Book;
use crate::http::page::{Listing, PageQuery, limit};
use crate::http::parameters::Parameters;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;
use actix_web::web::Data;
use spindlebook_domain::access::PrincipalKind;
use spindlebook_store::account;
use std::collections::HashMap;

/// List the machine clients of the site
#[utoipa::path(
    operation_id = "listClients", tag = "Clients", params(PageQuery),
    responses((status = 200, description = "A page of clients, in the order of their ids", body = ClientsDto))
)]
#[get("/v1/clients")]
pub async fn list_clients(
    caller: Caller<op::ListClients>,
    query: Parameters<PageQuery>,
    book: Data<Book>,
) -> Result<Shown, Problem> {
    let listing = Listing::of("clients", &());
    let after = listing.after(query.0.cursor.as_deref())?;
    let mut clients: Vec<_> = caller
        .shop
        .principals
        .values()
        .filter(|principal| principal.kind == PrincipalKind::Client)
        .collect();
    clients.sort_by_key(|principal| principal.id);
    let (page, next_cursor) = listing.page(clients, after.as_ref(), limit(query.0.limit), |principal| {
        principal.id
    })?;
    let accounts = account::all(
        &mut book.store().session().await?,
        caller.site,
        PrincipalKind::Client,
    )
    .await?;
    let accounts: HashMap<_, _> = accounts.iter().map(|account| (account.id, account)).collect();
    let items = page
        .into_iter()
        .map(|one| ClientDto::new(one, accounts.get(&one.id).copied()))
        .collect();
    Shown::new(&ClientsDto { items, next_cursor })
}
