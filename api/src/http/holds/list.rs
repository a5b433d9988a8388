use super::dto::{HoldDto, HoldPage};
use crate::auth::op;
use crate::hours::{Hours, HoursRequest, HoursSource};
use crate::http::ask::Ask;
use crate::http::find;
use crate::http::page::{self, Limit, Listing};
use crate::http::parameters::Parameters;
use crate::http::shown::Shown;
use crate::http::text;
use crate::problem::Problem;
use actix_web::get;
use actix_web::web::Data;
use serde::Deserialize;
use spindlebook_domain::hours::Category;
use spindlebook_domain::hours::rows::{By, DayRule};
use spindlebook_domain::load::{Hold, HoldKind};
use spindlebook_domain::shop::Shop;
use spindlebook_domain::time::Window;
use utoipa::IntoParams;

#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct HoldsQuery {
    /// Only those of this cell, by code or id.
    #[param(value_type = Option<text::CodeOrId>)]
    pub cell: Option<String>,
    /// Only those of this kind.
    #[param(value_type = Option<text::HoldKind>)]
    pub kind: Option<HoldKind>,
    /// How many items at most: 50 without it, 200 at most.
    pub limit: Option<Limit>,
    /// `next_cursor` of the page before.
    #[param(value_type = Option<text::Cursor>)]
    pub cursor: Option<String>,
}

/// List the open holds
///
/// The oldest first: what it is, where it is, since when it waits, and how long spindles stood because of what is held.
#[utoipa::path(
    operation_id = "listHolds",
    tag = "Holds",
    params(HoldsQuery),
    responses((status = 200, description = "A page of holds", body = HoldPage))
)]
#[get("/v1/holds")]
pub async fn list_holds(
    ask: Ask<op::ListHolds>,
    query: Parameters<HoldsQuery>,
    hours: Data<Hours>,
) -> Result<Shown, Problem> {
    let Parameters(query) = query;
    let cell = query
        .cell
        .as_deref()
        .map(|named| find::cell(&ask.shop, named))
        .transpose()?;
    let cell = cell.map(|cell| cell.id);
    let listing = Listing::of("holds", &(cell, query.kind));
    let holds = ask.shop.holds.values();
    let mut holds: Vec<_> = holds
        .filter(|hold| cell.is_none_or(|cell| hold.cell == cell))
        .filter(|hold| query.kind.is_none_or(|kind| hold.kind == kind))
        .collect();
    holds.sort_by_key(|hold| (hold.since, hold.id));
    let after = listing.after(query.cursor.as_deref())?;
    let (page, next_cursor) = listing.page(holds, after.as_ref(), page::limit(query.limit), |hold| {
        (hold.since, hold.id)
    })?;
    let source = ask.hours_source();
    let mut items = Vec::with_capacity(page.len());
    for hold in page {
        items.push(shown(&hours, &source, &ask.shop, hold).await?);
    }
    Shown::new(&HoldPage { items, next_cursor })
}

/// A hold with its age and what it costs.
pub async fn shown(
    hours: &Hours,
    source: &HoursSource,
    shop: &Shop,
    hold: &Hold,
) -> Result<HoldDto, Problem> {
    let waiting_s = spindle_s_waiting(hours, source, hold).await?;
    Ok(HoldDto::of(hold, shop, source.as_of, waiting_s))
}

/// As the hours report of the cell counts it, from the beginning of the hold until now.
async fn spindle_s_waiting(hours: &Hours, source: &HoursSource, hold: &Hold) -> Result<i64, Problem> {
    let asked = HoursRequest {
        cell: hold.cell,
        machine: None,
        window: Window::new(hold.since, source.as_of.max(hold.since)),
        by: By::Month,
        rule: DayRule::Calendar,
    };
    let report = hours.report(source, &asked).await?;
    Ok(report.total.seconds[Category::WaitingForInspection])
}
