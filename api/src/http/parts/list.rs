use super::dto::{PartDto, PartPage};
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::page::{self, Listing, PageQuery};
use crate::http::parameters::Parameters;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;

/// List the parts
///
/// In the order of their codes.
#[utoipa::path(
    operation_id = "listParts",
    tag = "Parts",
    params(PageQuery),
    responses((status = 200, description = "A page of parts", body = PartPage))
)]
#[get("/v1/parts")]
pub async fn list_parts(ask: Ask<op::ListParts>, query: Parameters<PageQuery>) -> Result<Shown, Problem> {
    let Parameters(PageQuery { limit, cursor }) = query;
    let listing = Listing::of("parts", &());
    let mut parts: Vec<_> = ask.shop.parts.values().collect();
    parts.sort_by(|a, b| (&a.code, a.id).cmp(&(&b.code, b.id)));
    let after = listing.after(cursor.as_deref())?;
    let (items, next_cursor) = listing.page(parts, after.as_ref(), page::limit(limit), |part| {
        (part.code.clone(), part.id)
    })?;
    let items = items
        .into_iter()
        .map(|part| PartDto::of(part, &ask.shop))
        .collect();
    Shown::new(&PartPage { items, next_cursor })
}
