use super::dto::{DeviceDto, DevicesDto};
use super::is_device;
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::page::{Listing, PageQuery, limit};
use crate::http::parameters::Parameters;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;
use spindlebook_domain::access::PrincipalKind;
use spindlebook_store::account;
use std::collections::HashMap;

/// List the tablets of the site
///
/// Disabled ones too.
#[utoipa::path(
    operation_id = "listDevices", tag = "Tablets", params(PageQuery),
    responses((status = 200, description = "A page of tablets, in the order of their ids", body = DevicesDto))
)]
#[get("/v1/devices")]
pub async fn list_devices(ask: Ask<op::ListDevices>, query: Parameters<PageQuery>) -> Result<Shown, Problem> {
    let listing = Listing::of("devices", &());
    let after = listing.after(query.0.cursor.as_deref())?;
    let mut devices: Vec<_> = ask
        .shop
        .principals
        .values()
        .filter(|one| is_device(one))
        .collect();
    devices.sort_by_key(|device| device.id);
    let (page, next_cursor) = listing.page(devices, after.as_ref(), limit(query.0.limit), |one| one.id)?;
    let mut session = ask.book.store().session().await?;
    let accounts = account::all(&mut session, ask.caller.site, PrincipalKind::Client).await?;
    let accounts: HashMap<_, _> = accounts.iter().map(|account| (account.id, account)).collect();
    let now = ask.book.now();
    let shown = |one| DeviceDto::new(&ask.shop, one, accounts.get(&one.id).copied(), now);
    let items = page.into_iter().map(shown).collect();
    Shown::new(&DevicesDto { items, next_cursor })
}
