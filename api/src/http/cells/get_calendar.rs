use crate::auth::op;
use crate::http::ask::{Ask, site_of};
use crate::http::find;
use crate::http::parameters::Parameters;
use crate::http::shown::Shown;
use crate::http::site::calendar_dto::{CalendarDto, CalendarOf, DateQuery};
use crate::problem::Problem;
use actix_web::get;
use actix_web::web::Path;
use spindlebook_domain::cell::Cell;
use spindlebook_domain::ids::{CellId, Seq};
use spindlebook_domain::shop::Shop;
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
    let version = version_of(&ask.shop, cell)?;
    Ok(Shown::new(&calendar_of(&ask.shop, cell, &query.0)?)?.at(version))
}

fn calendar_of(shop: &Shop, cell: &Cell, query: &DateQuery) -> Result<CalendarDto, Problem> {
    let site = site_of(shop)?;
    let (of, seq, versions) = match &cell.calendar {
        Some(own) => (CalendarOf::Cell, cell.calendar_changed_seq, own),
        None => (CalendarOf::Site, site.calendar_changed_seq, &site.calendar),
    };
    Ok(CalendarDto::new(of, seq, versions, query.date))
}

/// What a cell without a calendar of its own shows changes with the site's calendar too.
pub fn version_of(shop: &Shop, cell: &Cell) -> Result<Seq, Problem> {
    Ok(match &cell.calendar {
        Some(_) => cell.calendar_changed_seq,
        None => cell.calendar_changed_seq.max(site_of(shop)?.calendar_changed_seq),
    })
}

/// The version that a change was made on, in the terms of the rules: those know the cell's own calendar only.
pub fn expected_of(shop: &Shop, cell: CellId, if_match: Option<Seq>) -> Result<Option<Seq>, Problem> {
    let cell = find::cell_at(shop, cell)?;
    let shown = version_of(shop, cell)?;
    Ok(if_match.map(|seq| {
        if seq == shown {
            cell.calendar_changed_seq
        } else {
            seq
        }
    }))
}
