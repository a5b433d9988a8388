use super::dto::{PalletDto, PalletPage};
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::page::{self, Listing, PageQuery};
use crate::http::parameters::Parameters;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;

/// List the pallets
///
/// In the order of their codes.
#[utoipa::path(
    operation_id = "listPallets",
    tag = "Pallets",
    params(PageQuery),
    responses((status = 200, description = "A page of pallets", body = PalletPage))
)]
#[get("/v1/pallets")]
pub async fn list_pallets(ask: Ask<op::ListPallets>, query: Parameters<PageQuery>) -> Result<Shown, Problem> {
    let Parameters(PageQuery { limit, cursor }) = query;
    let listing = Listing::of("pallets", &());
    let mut pallets: Vec<_> = ask.shop.pallets.values().collect();
    pallets.sort_by(|a, b| (&a.facts.code, a.id).cmp(&(&b.facts.code, b.id)));
    let after = listing.after(cursor.as_deref())?;
    let (items, next_cursor) = listing.page(pallets, after.as_ref(), page::limit(limit), |pallet| {
        (pallet.facts.code.clone(), pallet.id)
    })?;
    let items = items
        .into_iter()
        .map(|pallet| PalletDto::of(pallet, &ask.shop))
        .collect();
    Shown::new(&PalletPage { items, next_cursor })
}
