use super::dto::{VendorDto, VendorPage};
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::page::{self, Listing, PageQuery};
use crate::http::parameters::Parameters;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;

/// List the vendors
///
/// In the order of their codes.
#[utoipa::path(
    operation_id = "listVendors",
    tag = "Vendors",
    params(PageQuery),
    responses((status = 200, description = "A page of vendors", body = VendorPage))
)]
#[get("/v1/vendors")]
pub async fn list_vendors(ask: Ask<op::ListVendors>, query: Parameters<PageQuery>) -> Result<Shown, Problem> {
    let Parameters(PageQuery { limit, cursor }) = query;
    let listing = Listing::of("vendors", &());
    let mut vendors: Vec<_> = ask.shop.vendors.values().collect();
    vendors.sort_by(|a, b| (&a.facts.code, a.id).cmp(&(&b.facts.code, b.id)));
    let after = listing.after(cursor.as_deref())?;
    let (items, next_cursor) = listing.page(vendors, after.as_ref(), page::limit(limit), |vendor| {
        (vendor.facts.code.clone(), vendor.id)
    })?;
    let items = items
        .into_iter()
        .map(|vendor| VendorDto::of(vendor, &ask.shop))
        .collect();
    Shown::new(&VendorPage { items, next_cursor })
}
