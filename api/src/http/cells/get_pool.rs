use super::pool_dto::PoolDto;
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::find;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;
use actix_web::web::Path;
use spindlebook_domain::ids::CellId;
use spindlebook_domain::pool;
use uuid::Uuid;

/// Get the pool of a cell
///
/// Where every pallet is, what is on it, its state, and the one thing that it waits for.
#[utoipa::path(
    operation_id = "getCellPool",
    tag = "Cells",
    params(("id" = Uuid, Path, description = "The cell")),
    responses((status = 200, description = "The pool as it stands", body = PoolDto))
)]
#[get("/v1/cells/{id}/pool")]
pub async fn get_cell_pool(ask: Ask<op::GetCellPool>, id: Path<Uuid>) -> Result<Shown, Problem> {
    let cell = find::cell_at(&ask.shop, CellId(id.into_inner()))?;
    let now = ask.book.now();
    let pool = pool::pool(&ask.shop, cell, now);
    Shown::new(&PoolDto::of(&pool, cell.id, &ask.shop, now))
}
