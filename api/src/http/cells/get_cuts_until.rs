use super::pool_dto::CutsUntilDto;
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

/// Get until when a cell cuts
///
/// If nobody touches it again: the open runs and then the queue as it stands, by the rules of a live start. A plan of
/// what should happen; no statement about the machine.
#[utoipa::path(
    operation_id = "getCutsUntil",
    tag = "Cells",
    params(("id" = Uuid, Path, description = "The cell")),
    responses((status = 200, description = "Until when, with what, and what ends it", body = CutsUntilDto))
)]
#[get("/v1/cells/{id}/cuts-until")]
pub async fn get_cuts_until(ask: Ask<op::GetCutsUntil>, id: Path<Uuid>) -> Result<Shown, Problem> {
    let cell = find::cell_at(&ask.shop, CellId(id.into_inner()))?;
    let now = ask.book.now();
    let cuts = pool::cuts_until(&ask.shop, cell, now);
    Shown::new(&CutsUntilDto::of(&cuts, cell.id, ask.shop.seq, now))
}
