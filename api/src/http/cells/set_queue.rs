use super::pool_dto::{QueueBody, QueueDto};
use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply};
use actix_web::put;
use actix_web::web::Path;
use spindlebook_domain::floor::SetQueue;
use spindlebook_domain::ids::CellId;
use uuid::Uuid;

/// Set the queue of a cell
///
/// Pallets of the cell, each once, in the order in which they should be cut; those that are not ready are passed over.
#[utoipa::path(
    operation_id = "setCellQueue",
    tag = "Cells",
    params(("id" = Uuid, Path, description = "The cell")),
    request_body = QueueBody,
    responses((status = 200, description = "The queue as it is now", body = QueueDto))
)]
#[put("/v1/cells/{id}/queue")]
pub async fn set_cell_queue(act: Act<op::SetCellQueue, QueueBody>, id: Path<Uuid>) -> Outcome {
    let cell = CellId(id.into_inner());
    let command = SetQueue {
        cell,
        pallets: act.body.pallets,
        expected: act.draft.if_match()?,
    };
    act.draft
        .submit(command, move |accepted| {
            let cell = accepted.shop.cells.get(&cell)?;
            Some(Reply::ok(&QueueDto::from(cell)).at(cell.queue_changed_seq))
        })
        .await
}
