use super::dto::{CellBody, CellDto};
use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply, new_id};
use actix_web::post;
use spindlebook_domain::cell::AddCell;
use spindlebook_domain::ids::CellId;

/// Add a cell
///
/// A standalone machine needs no cell of its own beforehand: adding the machine makes it.
#[utoipa::path(
    operation_id = "addCell",
    tag = "Cells",
    request_body = CellBody,
    responses((status = 201, description = "The new cell", body = CellDto))
)]
#[post("/v1/cells")]
pub async fn add_cell(act: Act<op::AddCell, CellBody>) -> Outcome {
    let cell = CellId(new_id());
    let kind = act.body.kind()?;
    let CellBody { code, name, .. } = act.body;
    let command = AddCell {
        cell,
        code,
        name,
        kind,
    };
    act.draft
        .submit(command, move |accepted| {
            let cell = accepted.shop.cells.get(&cell)?;
            let location = format!("/v1/cells/{}", cell.id);
            Some(Reply::created(location, &CellDto::from(cell)).at(cell.changed_seq))
        })
        .await
}
