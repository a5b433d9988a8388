use super::dto::{CellNameDto, RowDto};
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::find;
use crate::http::instant::Instant;
use crate::http::page::{self, Limit, Listing};
use crate::http::parameters::Parameters;
use crate::http::shown::Shown;
use crate::http::text;
use crate::http::window;
use crate::problem::Problem;
use actix_web::get;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;
use spindlebook_domain::ids::Seq;
use spindlebook_domain::local_time::local_date;
use spindlebook_store::daily_report::{self, DailyReport};
use utoipa::{IntoParams, ToSchema};

#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct DailyReportsQuery {
    /// The cell, by code or id.
    #[param(value_type = text::CodeOrId)]
    pub cell: String,
    #[param(value_type = text::InstantOrDate)]
    pub from: String,
    /// Dates before it. At most 400 days after `from`.
    #[param(value_type = text::InstantOrDate)]
    pub to: String,
    /// Also what was reported of a day before it was reported anew.
    pub superseded: Option<bool>,
    /// How many items at most: 50 without it, 200 at most.
    pub limit: Option<Limit>,
    /// `next_cursor` of the page before.
    #[param(value_type = Option<text::Cursor>)]
    pub cursor: Option<String>,
}

/// A page of kept reports, by date and version.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = DailyReportPage, example = json!({"cell": {"id": "01936b5e-5c00-7000-8000-0000000000c1",
    "code": "POOL-A", "name": "Pallet pool A"}, "items": [], "next_cursor": null}))]
pub struct DailyReportPage {
    pub cell: CellNameDto,
    #[schema(max_items = 200)]
    pub items: Vec<DailyReportDto>,
    /// Null on the last page.
    #[schema(value_type = Option<text::Cursor>)]
    pub next_cursor: Option<String>,
}

/// What was reported of one shift date.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = DailyReport)]
pub struct DailyReportDto {
    pub date: NaiveDate,
    /// 1 is the first report; each later one has other figures than the one before.
    pub version: u32,
    /// There is a later one.
    pub superseded: bool,
    #[schema(value_type = text::Instant)]
    pub computed_at: Instant,
    /// The entry up to which the ledger was read.
    #[schema(value_type = text::Seq)]
    pub seq: Seq,
    /// As it was shown then: an old one may lack what later services say.
    #[schema(value_type = RowDto)]
    pub row: Box<RawValue>,
}

/// List the kept daily reports
///
/// Planned and realised hours of each shift date, as they were reported once the day had ended and settled (15 minutes),
/// and again whenever late entries had changed a figure within 62 days. Later changes show in the report of hours only.
#[utoipa::path(
    operation_id = "listDailyReports",
    tag = "Hours",
    params(DailyReportsQuery),
    responses((status = 200, description = "Reports", body = DailyReportPage))
)]
#[get("/v1/hours/daily")]
pub async fn list_daily_reports(
    ask: Ask<op::ListDailyReports>,
    query: Parameters<DailyReportsQuery>,
) -> Result<Shown, Problem> {
    let Parameters(query) = query;
    let cell = find::cell(&ask.shop, &query.cell)?;
    let zone = ask.site()?.zone;
    let window = window::read(zone, &query.from, &query.to)?;
    let superseded = query.superseded.unwrap_or(false);
    let listing = Listing::of("daily reports", &(cell.id, window, superseded));
    let after = listing.after(query.cursor.as_deref())?;
    let days = [window.from, window.to.plus_us(-1)].map(|at| local_date(zone, at).to_string());
    let mut session = ask.book.store().session().await?;
    let kept = daily_report::of_days(&mut session, ask.caller.site, cell.id, (&days[0], &days[1])).await?;
    drop(session);
    let is_last = |position: usize| {
        let next: Option<&DailyReport> = kept.get(position + 1);
        next.is_none_or(|next| next.day != kept[position].day)
    };
    let shown = kept.iter().enumerate();
    let shown = shown.map(|(position, report)| (report, !is_last(position)));
    let shown: Vec<_> = shown.filter(|(_, is_old)| superseded || !is_old).collect();
    let limit = page::limit(query.limit);
    let (items, next_cursor) = listing.page(&shown, after.as_ref(), limit, |(report, _)| {
        (report.day.clone(), report.version)
    })?;
    let items = items.into_iter().map(|(report, is_old)| dto(report, *is_old));
    Shown::new(&DailyReportPage {
        cell: cell.into(),
        items: items.collect::<Result<_, _>>()?,
        next_cursor,
    })
}

fn dto(report: &DailyReport, superseded: bool) -> Result<DailyReportDto, Problem> {
    let date = report.day.parse().map_err(|error| Problem::fault(&error))?;
    let row = RawValue::from_string(report.body.clone()).map_err(|error| Problem::fault(&error))?;
    Ok(DailyReportDto {
        date,
        version: u32::try_from(report.version).unwrap_or(u32::MAX),
        superseded,
        computed_at: report.computed_at.into(),
        seq: report.seq,
        row,
    })
}
