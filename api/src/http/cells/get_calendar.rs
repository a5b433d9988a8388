use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::find;
use crate::http::parameters::Parameters;
use crate::http::shown::Shown;
use crate::http::site::calendar_dto::{CalendarDto, CalendarOf, DateQuery};
use crate::problem::Problem;
use actix_web::get;
use actix_web::web::Path;
use spindlebook_domain::cell::Cell;
use spindlebook_domain::ids::CellId;
use spindlebook_domain::site::Site;
use uuid::Uuid;

/// Get the calendar that a cell works by
///
/// `of` says whether it is the cell's own or the site's.
#[utoipa::path(
    operation_id = "getCellCalendar",
    tag = "Calendars",
    params(("id" = Uuid, Path, description = "The cell"), DateQuery),
    responses((status = 200, description = "The calendar, all versions or that of one date", body = CalendarDto))
)]
#[get("/v1/cells/{id}/calendar")]
pub async fn get_cell_calendar(
    ask: Ask<op::GetCellCalendar>,
    id: Path<Uuid>,
    query: Parameters<DateQuery>,
) -> Result<Shown, Problem> {
    let cell = find::cell_at(&ask.shop, CellId(id.into_inner()))?;
    let site = ask.site()?;
    Ok(Shown::new(&calendar_of(site, cell, &query.0))?.at(cell.calendar_version(site)))
}

fn calendar_of(site: &Site, cell: &Cell, query: &DateQuery) -> CalendarDto {
    let (of, seq, versions) = match &cell.calendar {
        Some(own) => (CalendarOf::Cell, cell.calendar_changed_seq, own),
        None => (CalendarOf::Site, site.calendar_changed_seq, &site.calendar),
    };
    CalendarDto::new(of, seq, versions, query.date)
}
