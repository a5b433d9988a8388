use super::dto::{HoldDto, HoldPage};
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::page::{self, Listing, PageQuery};
use crate::http::parameters::Parameters;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;

/// List the open holds
///
/// The oldest first: what it is, where it is, since when it waits.
#[utoipa::path(
    operation_id = "listHolds",
    tag = "Holds",
    params(PageQuery),
    responses((status = 200, description = "A page of holds", body = HoldPage))
)]
#[get("/v1/holds")]
pub async fn list_holds(ask: Ask<op::ListHolds>, query: Parameters<PageQuery>) -> Result<Shown, Problem> {
    let Parameters(PageQuery { limit, cursor }) = query;
    let listing = Listing::of("holds", &());
    let mut holds: Vec<_> = ask.shop.holds.values().collect();
    holds.sort_by_key(|hold| (hold.since, hold.id));
    let after = listing.after(cursor.as_deref())?;
    let (items, next_cursor) = listing.page(holds, after.as_ref(), page::limit(limit), |hold| {
        (hold.since, hold.id)
    })?;
    let items = items
        .into_iter()
        .map(|hold| HoldDto::of(hold, &ask.shop))
        .collect();
    Shown::new(&HoldPage { items, next_cursor })
}
