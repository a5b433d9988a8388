use super::dto::{DevicePeopleDto, DevicePersonDto};
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::page::{Listing, PageQuery, limit};
use crate::http::parameters::Parameters;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;
use spindlebook_domain::access::PrincipalKind;
use spindlebook_store::account::{self, AccountRow};
use spindlebook_store::pin;
use std::collections::BTreeSet;

/// List who can badge in
///
/// For the page where one taps one's own name: people who are enabled and have a PIN.
#[utoipa::path(
    operation_id = "listDevicePeople", tag = "Tablets", params(PageQuery),
    responses((status = 200, description = "A page of people, by name", body = DevicePeopleDto))
)]
#[get("/v1/devices/people")]
pub async fn list_device_people(
    ask: Ask<op::ListDevicePeople>,
    query: Parameters<PageQuery>,
) -> Result<Shown, Problem> {
    let listing = Listing::of("device people", &());
    let after = listing.after(query.0.cursor.as_deref())?;
    let mut session = ask.book.store().session().await?;
    let with_pin = pin::all(&mut session, ask.caller.site).await?;
    let with_pin: BTreeSet<_> = with_pin.into_iter().map(|row| row.person).collect();
    let accounts = account::all(&mut session, ask.caller.site, PrincipalKind::Person).await?;
    let is_enabled = |account: &&AccountRow| {
        let principal = ask.shop.principals.get(&account.id);
        principal.is_some_and(spindlebook_domain::access::Principal::is_enabled)
    };
    let mut people: Vec<_> = accounts
        .iter()
        .filter(|account| with_pin.contains(&account.id) && account.display_name.is_some())
        .filter(is_enabled)
        .collect();
    let key = |account: &AccountRow| (account.display_name.clone().unwrap_or_default(), account.id);
    people.sort_by_key(|account| key(account));
    let (page, next_cursor) = listing.page(people, after.as_ref(), limit(query.0.limit), key)?;
    let items = page
        .into_iter()
        .filter_map(|account| {
            let roles = &ask.shop.principals.get(&account.id)?.roles;
            Some(DevicePersonDto {
                id: account.id,
                display_name: account.display_name.clone()?,
                roles: roles.iter().map(|role| role.as_str()).collect(),
            })
        })
        .collect();
    Ok(Shown::new(&DevicePeopleDto { items, next_cursor })?.personal())
}
