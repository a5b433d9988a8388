use super::calendar_dto::{CalendarBody, CalendarDto, CalendarOf};
use crate::auth::op;
use crate::http::ask::site_of;
use crate::http::command::{Act, Outcome, Reply};
use actix_web::put;
use spindlebook_domain::site::SetSiteCalendar;

/// Set a version of the site's calendar
///
/// It holds for every cell that has no calendar of its own. The body is one version; others, valid from other dates,
/// stay.
#[utoipa::path(
    operation_id = "setSiteCalendar",
    tag = "Calendars",
    request_body = CalendarBody,
    responses((status = 200, description = "All versions of the site's calendar", body = CalendarDto))
)]
#[put("/v1/site/calendar")]
pub async fn set_site_calendar(act: Act<op::SetSiteCalendar, CalendarBody>) -> Outcome {
    let expected = act.draft.if_match()?;
    let valid_from = act
        .body
        .valid_from(site_of(&act.caller.shop)?.zone, act.draft.now());
    let command = SetSiteCalendar {
        valid_from,
        calendar: act.body.calendar()?,
        expected,
    };
    act.draft
        .submit(command, |accepted| {
            let site = accepted.shop.site.as_ref()?;
            let seq = site.calendar_changed_seq;
            Some(Reply::ok(&CalendarDto::new(CalendarOf::Site, seq, &site.calendar, None)).at(seq))
        })
        .await
}
