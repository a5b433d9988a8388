use super::dto::{CellBody, CellDto};
use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply};
use actix_web::put;
use actix_web::web::Path;
use spindlebook_domain::cell::ChangeCell;
use spindlebook_domain::ids::CellId;
use uuid::Uuid;

/// Change a cell
///
/// All its fields are replaced. Its machines and its calendar stay as they are.
#[utoipa::path(
    operation_id = "changeCell",
    tag = "Cells",
    params(("id" = Uuid, Path, description = "The cell")),
    request_body = CellBody,
    responses((status = 200, description = "The cell as it is now", body = CellDto))
)]
#[put("/v1/cells/{id}")]
pub async fn change_cell(act: Act<op::ChangeCell, CellBody>, id: Path<Uuid>) -> Outcome {
    let cell = CellId(id.into_inner());
    let (kind, expected) = (act.body.kind()?, act.draft.if_match()?);
    let CellBody { code, name, .. } = act.body;
    let command = ChangeCell {
        cell,
        code,
        name,
        kind,
        expected,
    };
    act.draft
        .submit(command, move |accepted| {
            let cell = accepted.shop.cells.get(&cell)?;
            Some(Reply::ok(&CellDto::from(cell)).at(cell.changed_seq))
        })
        .await
}
