use super::dto::{CellDto, CellPage};
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::page::{self, Listing, PageQuery};
use crate::http::parameters::Parameters;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;

/// List the cells
///
/// In the order of their codes.
#[utoipa::path(
    operation_id = "listCells",
    tag = "Cells",
    params(PageQuery),
    responses((status = 200, description = "A page of cells", body = CellPage))
)]
#[get("/v1/cells")]
pub async fn list_cells(ask: Ask<op::ListCells>, query: Parameters<PageQuery>) -> Result<Shown, Problem> {
    let Parameters(PageQuery { limit, cursor }) = query;
    let listing = Listing::of("cells", &());
    let mut cells: Vec<_> = ask.shop.cells.values().collect();
    cells.sort_by(|a, b| (&a.code, a.id).cmp(&(&b.code, b.id)));
    let after = listing.after(cursor.as_deref())?;
    let (items, next_cursor) = listing.page(cells, after.as_ref(), page::limit(limit), |cell| {
        (cell.code.clone(), cell.id)
    })?;
    let items = items.into_iter().map(CellDto::from).collect();
    Shown::new(&CellPage { items, next_cursor })
}
