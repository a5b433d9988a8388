use super::dto::CellDto;
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::find;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;
use actix_web::web::Path;
use spindlebook_domain::ids::CellId;
use uuid::Uuid;

/// Get a cell
#[utoipa::path(
    operation_id = "getCell",
    tag = "Cells",
    params(("id" = Uuid, Path, description = "The cell")),
    responses((status = 200, description = "The cell", body = CellDto))
)]
#[get("/v1/cells/{id}")]
pub async fn get_cell(ask: Ask<op::GetCell>, id: Path<Uuid>) -> Result<Shown, Problem> {
    let cell = find::cell_at(&ask.shop, CellId(id.into_inner()))?;
    Ok(Shown::new(&CellDto::from(cell))?.at(cell.changed_seq))
}
