use super::dto::{DeviationDto, DeviationPage};
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::page::{self, Listing, PageQuery};
use crate::http::parameters::Parameters;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;
use std::cmp::Reverse;

/// List what happened against a rule
///
/// The newest first, and the newest 1,000 of them; the ledger has them all. Each was booked and counted once; where the
/// rule was about quality or about what may run alone, its load was put on hold.
#[utoipa::path(
    operation_id = "listDeviations",
    tag = "Late acts",
    params(PageQuery),
    responses((status = 200, description = "A page of deviations", body = DeviationPage))
)]
#[get("/v1/deviations")]
pub async fn list_deviations(
    ask: Ask<op::ListDeviations>,
    query: Parameters<PageQuery>,
) -> Result<Shown, Problem> {
    let Parameters(PageQuery { limit, cursor }) = query;
    let listing = Listing::of("deviations", &());
    let mut deviations: Vec<_> = ask.shop.deviations.values().collect();
    deviations.sort_by_key(|deviation| Reverse(deviation.seq));
    let after = listing.after(cursor.as_deref())?;
    let (items, next_cursor) = listing.page(deviations, after.as_ref(), page::limit(limit), |deviation| {
        Reverse(deviation.seq)
    })?;
    let items = items
        .into_iter()
        .map(|deviation| DeviationDto::of(deviation, &ask.shop))
        .collect();
    Shown::new(&DeviationPage { items, next_cursor })
}
