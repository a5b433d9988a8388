use super::pool_dto::QueueDto;
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::find;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;
use actix_web::web::Path;
use spindlebook_domain::ids::CellId;
use uuid::Uuid;

/// Get the queue of a cell
///
/// A pallet leaves it when its run starts.
#[utoipa::path(
    operation_id = "getCellQueue",
    tag = "Cells",
    params(("id" = Uuid, Path, description = "The cell")),
    responses((status = 200, description = "The queue", body = QueueDto))
)]
#[get("/v1/cells/{id}/queue")]
pub async fn get_cell_queue(ask: Ask<op::GetCellQueue>, id: Path<Uuid>) -> Result<Shown, Problem> {
    let cell = find::cell_at(&ask.shop, CellId(id.into_inner()))?;
    Ok(Shown::new(&QueueDto::from(cell))?.at(cell.queue_changed_seq))
}
