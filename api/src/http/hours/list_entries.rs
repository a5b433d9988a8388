use super::stretch_dto::{CategoryName, StretchDto, StretchPage};
use crate::auth::op;
use crate::hours::Hours;
use crate::http::ask::Ask;
use crate::http::find;
use crate::http::page::{self, Limit, Listing};
use crate::http::parameters::Parameters;
use crate::http::shown::Shown;
use crate::http::text;
use crate::http::window;
use crate::problem::Problem;
use actix_web::get;
use actix_web::web::Data;
use serde::Deserialize;
use utoipa::IntoParams;

#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct HoursEntriesQuery {
    /// The machine, by code or id.
    #[param(value_type = text::CodeOrId)]
    pub machine: String,
    #[param(value_type = text::InstantOrDate)]
    pub from: String,
    /// What lies before it; of a date, before its beginning. At most 400 days after `from`.
    #[param(value_type = text::InstantOrDate)]
    pub to: String,
    /// Only stretches of this category.
    #[param(inline)]
    pub category: Option<CategoryName>,
    /// Only stretches in which people and the machine say different things of whether a run was going on.
    pub disagreeing: Option<bool>,
    /// How many items at most: 50 without it, 200 at most.
    pub limit: Option<Limit>,
    /// `next_cursor` of the page before.
    #[param(value_type = Option<text::Cursor>)]
    pub cursor: Option<String>,
}

/// Open a figure to its entries
///
/// The stretches that a row of the report is the sum of, each with the entries of the ledger that decide it. With
/// `disagreeing=true` it is the list to reconcile: where people and the machine say different things.
#[utoipa::path(
    operation_id = "listHoursEntries",
    tag = "Hours",
    params(HoursEntriesQuery),
    responses((status = 200, description = "Stretches with their entries", body = StretchPage))
)]
#[get("/v1/hours/entries")]
pub async fn list_hours_entries(
    ask: Ask<op::ListHoursEntries>,
    query: Parameters<HoursEntriesQuery>,
    hours: Data<Hours>,
) -> Result<Shown, Problem> {
    let Parameters(query) = query;
    let machine = find::machine(&ask.shop, &query.machine)?;
    let window = window::read(ask.site()?.zone, &query.from, &query.to)?;
    let listing = Listing::of(
        "hours entries",
        &(machine.id, window, query.category, query.disagreeing),
    );
    let after = listing.after(query.cursor.as_deref())?;
    let source = ask.hours_source();
    let mut stretches = hours.opened(&source, machine.id, window).await?;
    stretches.retain(|stretch| query.category.is_none_or(|only| only == stretch.category.into()));
    stretches.retain(|stretch| {
        let disagree = stretch.people_and_machine_disagree;
        query.disagreeing.is_none_or(|only| only == disagree)
    });
    let limit = page::limit(query.limit);
    let (items, next_cursor) =
        listing.page(&stretches, after.as_ref(), limit, |stretch| stretch.window.from)?;
    Shown::new(&StretchPage {
        machine: machine.id,
        code: machine.code.clone(),
        from: window.from.into(),
        to: window.to.into(),
        as_of: source.as_of.into(),
        seq: ask.shop.seq,
        items: items.into_iter().map(StretchDto::from).collect(),
        next_cursor,
    })
}
