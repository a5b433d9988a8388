use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::find;
use crate::http::instant::Instant;
use crate::http::parameters::Parameters;
use crate::http::shown::Shown;
use crate::http::text;
use crate::http::window;
use crate::problem::Problem;
use actix_web::get;
use chrono::NaiveDate;
use chrono_tz::Tz;
use serde::{Deserialize, Serialize};
use spindlebook_domain::calendar::{CalendarVersions, ShiftInstance, attended, shifts_in, staffed};
use spindlebook_domain::code::{Code, Name};
use spindlebook_domain::time::{US_PER_SECOND, Window};
use utoipa::{IntoParams, ToSchema};

#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct StaffedTimeQuery {
    #[param(value_type = text::InstantOrDate)]
    pub from: String,
    /// What lies before it; of a date, before its beginning.
    #[param(value_type = text::InstantOrDate)]
    pub to: String,
    /// By the calendar of this cell; without it, by the site's.
    #[param(value_type = Option<text::CodeOrId>)]
    pub cell: Option<String>,
}

/// When people are there.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"cell": null, "zone": "Europe/Berlin", "from": "2026-11-01T23:00:00Z",
    "to": "2026-11-02T23:00:00Z", "staffed_s": 7200, "attended_s": 7200,
    "staffed": [{"from": "2026-11-02T21:00:00Z", "to": "2026-11-02T23:00:00Z"}],
    "attended": [{"from": "2026-11-02T21:00:00Z", "to": "2026-11-02T23:00:00Z"}],
    "shifts": [{"name": "Night", "shift_date": "2026-11-02", "from": "2026-11-02T21:00:00Z",
    "to": "2026-11-03T05:00:00Z", "breaks": [{"from": "2026-11-03T01:00:00Z",
    "to": "2026-11-03T01:30:00Z"}], "overtime": false}]}))]
pub struct StaffedTime {
    #[schema(value_type = Option<text::Code>)]
    pub cell: Option<Code>,
    #[schema(value_type = text::Zone)]
    pub zone: Tz,
    #[schema(value_type = text::Instant)]
    pub from: Instant,
    #[schema(value_type = text::Instant)]
    pub to: Instant,
    /// Shifts without their breaks.
    #[schema(minimum = 0)]
    pub staffed_s: i64,
    /// Shifts with their breaks: somebody is there.
    #[schema(minimum = 0)]
    pub attended_s: i64,
    #[schema(max_items = 50_000)]
    pub staffed: Vec<WindowDto>,
    #[schema(max_items = 50_000)]
    pub attended: Vec<WindowDto>,
    /// Those that reach into the window, each in its whole length.
    #[schema(max_items = 5_000)]
    pub shifts: Vec<ShiftInstanceDto>,
}

/// From `from` until just before `to`.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Window)]
pub struct WindowDto {
    #[schema(value_type = text::Instant)]
    pub from: Instant,
    #[schema(value_type = text::Instant)]
    pub to: Instant,
}

/// A shift on its date.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Shift)]
pub struct ShiftInstanceDto {
    #[schema(value_type = text::Name)]
    pub name: Name,
    /// The date on which it begins.
    pub shift_date: NaiveDate,
    #[schema(value_type = text::Instant)]
    pub from: Instant,
    #[schema(value_type = text::Instant)]
    pub to: Instant,
    #[schema(max_items = 10)]
    pub breaks: Vec<WindowDto>,
    pub overtime: bool,
}

/// Get the staffed time of a window
///
/// Right across clock changes: a night shift from 22:00 to 06:00 has 7, 8 or 9 hours.
#[utoipa::path(
    operation_id = "getStaffedTime",
    tag = "Calendars",
    params(StaffedTimeQuery),
    responses((status = 200, description = "Staffed and attended time", body = StaffedTime))
)]
#[get("/v1/site/staffed-time")]
pub async fn get_staffed_time(
    ask: Ask<op::GetStaffedTime>,
    query: Parameters<StaffedTimeQuery>,
) -> Result<Shown, Problem> {
    let Parameters(StaffedTimeQuery { from, to, cell }) = query;
    let site = ask.site()?;
    let window = window::read(site.zone, &from, &to)?;
    let cell = cell.map(|named| find::cell(&ask.shop, &named)).transpose()?;
    let own = cell.and_then(|cell| cell.calendar.as_ref());
    let calendar = own.unwrap_or(&site.calendar);
    let code = cell.map(|cell| cell.code.clone());
    Shown::new(&StaffedTime::of(code, calendar, site.zone, window))
}

impl StaffedTime {
    fn of(cell: Option<Code>, calendar: &CalendarVersions, zone: Tz, window: Window) -> Self {
        let staffed = staffed(calendar, zone, window);
        let attended = attended(calendar, zone, window);
        Self {
            cell,
            zone,
            from: window.from.into(),
            to: window.to.into(),
            staffed_s: whole_s(&staffed),
            attended_s: whole_s(&attended),
            staffed: staffed.into_iter().map(WindowDto::from).collect(),
            attended: attended.into_iter().map(WindowDto::from).collect(),
            shifts: shifts_in(calendar, zone, window)
                .into_iter()
                .map(ShiftInstanceDto::from)
                .collect(),
        }
    }
}

/// To the nearest second: shifts begin on minutes, but a window need not.
fn whole_s(windows: &[Window]) -> i64 {
    let us: i64 = windows.iter().map(|window| window.us()).sum();
    (us + US_PER_SECOND / 2) / US_PER_SECOND
}

impl From<Window> for WindowDto {
    fn from(window: Window) -> Self {
        Self {
            from: window.from.into(),
            to: window.to.into(),
        }
    }
}

impl From<ShiftInstance> for ShiftInstanceDto {
    fn from(shift: ShiftInstance) -> Self {
        Self {
            name: shift.name,
            shift_date: shift.shift_date,
            from: shift.window.from.into(),
            to: shift.window.to.into(),
            breaks: shift.breaks.into_iter().map(WindowDto::from).collect(),
            overtime: shift.overtime,
        }
    }
}
