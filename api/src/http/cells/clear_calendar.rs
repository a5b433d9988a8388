use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply};
use actix_web::delete;
use actix_web::web::Path;
use spindlebook_domain::cell::ClearCellCalendar;
use spindlebook_domain::ids::CellId;
use uuid::Uuid;

/// Let a cell work by the site's calendar again
///
/// For the past too: its hours by shift are cut anew. Needs `If-Match`, as a change does.
#[utoipa::path(
    operation_id = "clearCellCalendar",
    tag = "Calendars",
    params(("id" = Uuid, Path, description = "The cell")),
    responses((status = 204, description = "The cell works by the site's calendar"))
)]
#[delete("/v1/cells/{id}/calendar")]
pub async fn clear_cell_calendar(act: Act<op::ClearCellCalendar>, id: Path<Uuid>) -> Outcome {
    let cell = CellId(id.into_inner());
    let expected = act.draft.if_match()?;
    let command = ClearCellCalendar { cell, expected };
    act.draft.submit(command, |_| Some(Reply::no_content())).await
}
