use super::dto::{ParkedActDto, ParkedActPage};
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::page::{self, Listing, PageQuery};
use crate::http::parameters::Parameters;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;

/// List the acts that wait to be settled
///
/// In the order of receipt, each with both sides: what was told, and what spoke against it then and does now.
#[utoipa::path(
    operation_id = "listParkedActs",
    tag = "Late acts",
    params(PageQuery),
    responses((status = 200, description = "A page of parked acts", body = ParkedActPage))
)]
#[get("/v1/parked-acts")]
pub async fn list_parked_acts(
    ask: Ask<op::ListParkedActs>,
    query: Parameters<PageQuery>,
) -> Result<Shown, Problem> {
    let Parameters(PageQuery { limit, cursor }) = query;
    let listing = Listing::of("parked-acts", &());
    let mut parked: Vec<_> = ask.shop.parked.values().collect();
    parked.sort_by_key(|parked| parked.seq);
    let after = listing.after(cursor.as_deref())?;
    let (items, next_cursor) =
        listing.page(parked, after.as_ref(), page::limit(limit), |parked| parked.seq)?;
    let now = ask.book.now();
    let items = items
        .into_iter()
        .map(|parked| ParkedActDto::of(parked, &ask.shop, now))
        .collect();
    Shown::new(&ParkedActPage { items, next_cursor })
}
