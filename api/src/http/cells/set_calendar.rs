use crate::auth::op;
use crate::http::ask::site_of;
use crate::http::command::{Act, Outcome, Reply};
use crate::http::site::calendar_dto::{CalendarBody, CalendarDto, CalendarOf};
use actix_web::put;
use actix_web::web::Path;
use spindlebook_domain::cell::SetCellCalendar;
use spindlebook_domain::ids::CellId;
use uuid::Uuid;

/// Let a cell work by a calendar of its own
///
/// The body is one version; others, valid from other dates, stay.
#[utoipa::path(
    operation_id = "setCellCalendar",
    tag = "Calendars",
    params(("id" = Uuid, Path, description = "The cell")),
    request_body = CalendarBody,
    responses((status = 200, description = "All versions of the cell's own calendar", body = CalendarDto))
)]
#[put("/v1/cells/{id}/calendar")]
pub async fn set_cell_calendar(act: Act<op::SetCellCalendar, CalendarBody>, id: Path<Uuid>) -> Outcome {
    let cell = CellId(id.into_inner());
    let expected = act.draft.if_match()?;
    let valid_from = act
        .body
        .valid_from(site_of(&act.caller.shop)?.zone, act.draft.now());
    let command = SetCellCalendar {
        cell,
        valid_from,
        calendar: act.body.calendar()?,
        expected,
    };
    act.draft
        .submit(command, move |accepted| {
            let cell = accepted.shop.cells.get(&cell)?;
            let seq = cell.calendar_changed_seq;
            let calendar = CalendarDto::new(CalendarOf::Cell, seq, cell.calendar.as_ref()?, None);
            Some(Reply::ok(&calendar).at(seq))
        })
        .await
}
