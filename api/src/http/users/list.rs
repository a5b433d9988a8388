use super::dto::{UserDto, UsersDto};
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

/// List the users of the site
#[utoipa::path(
    operation_id = "listUsers", tag = "Users", params(PageQuery),
    responses((status = 200, description = "A page of users, in the order of their ids", body = UsersDto))
)]
#[get("/v1/users")]
pub async fn list_users(
    caller: Caller<op::ListUsers>,
    query: Parameters<PageQuery>,
    book: Data<Book>,
) -> Result<Shown, Problem> {
    let listing = Listing::of("users", &());
    let after = listing.after(query.0.cursor.as_deref())?;
    let mut persons: Vec<_> = caller
        .shop
        .principals
        .values()
        .filter(|principal| principal.kind == PrincipalKind::Person)
        .collect();
    persons.sort_by_key(|principal| principal.id);
    let (page, next_cursor) = listing.page(persons, after.as_ref(), limit(query.0.limit), |principal| {
        principal.id
    })?;
    let accounts = account::all(
        &mut book.store().session().await?,
        caller.site,
        PrincipalKind::Person,
    )
    .await?;
    let accounts: HashMap<_, _> = accounts.iter().map(|account| (account.id, account)).collect();
    let items = page
        .into_iter()
        .map(|one| UserDto::new(one, accounts.get(&one.id).copied()))
        .collect();
    Ok(Shown::new(&UsersDto { items, next_cursor })?.personal())
}
