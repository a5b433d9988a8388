use super::calendar_dto::{CalendarDto, CalendarOf, DateQuery};
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::parameters::Parameters;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;

/// Get the site's calendar
///
/// All its versions, or the one that applies on `date`.
#[utoipa::path(
    operation_id = "getSiteCalendar",
    tag = "Calendars",
    params(DateQuery),
    responses((status = 200, description = "The calendar, all versions or that of one date", body = CalendarDto))
)]
#[get("/v1/site/calendar")]
pub async fn get_site_calendar(
    ask: Ask<op::GetSiteCalendar>,
    query: Parameters<DateQuery>,
) -> Result<Shown, Problem> {
    let site = ask.site()?;
    let seq = site.calendar_changed_seq;
    let calendar = CalendarDto::new(CalendarOf::Site, seq, &site.calendar, query.0.date);
    Ok(Shown::new(&calendar)?.at(seq))
}
