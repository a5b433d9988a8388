use super::dto::{ReadingDto, ReadingPage};
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
use actix_web::web::{Data, Path};
use serde::Deserialize;
use spindlebook_domain::ids::MachineId;
use spindlebook_domain::time::{Timestamp, Window};
use utoipa::IntoParams;
use uuid::Uuid;

#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct ReadingsQuery {
    /// Without it, from the first reading on.
    #[param(value_type = Option<text::InstantOrDate>)]
    pub from: Option<String>,
    /// What lies before it. Without it, to the newest reading.
    #[param(value_type = Option<text::InstantOrDate>)]
    pub to: Option<String>,
    /// How many items at most: 50 without it, 200 at most.
    pub limit: Option<Limit>,
    /// `next_cursor` of the page before.
    #[param(value_type = Option<text::Cursor>)]
    pub cursor: Option<String>,
}

/// List the readings of a machine's counters
///
/// The oldest first.
#[utoipa::path(
    operation_id = "listReadings",
    tag = "Signals",
    params(("id" = Uuid, Path, description = "The machine"), ReadingsQuery),
    responses((status = 200, description = "A page of readings", body = ReadingPage))
)]
#[get("/v1/machines/{id}/readings")]
pub async fn list_readings(
    ask: Ask<op::ListReadings>,
    id: Path<Uuid>,
    query: Parameters<ReadingsQuery>,
    hours: Data<Hours>,
) -> Result<Shown, Problem> {
    let machine = find::machine_at(&ask.shop, MachineId(id.into_inner()))?.id;
    let Parameters(query) = query;
    let zone = ask.site()?.zone;
    let edge = |name, text: Option<&str>| text.map(|text| window::edge(zone, name, text)).transpose();
    let window = Window::new(
        edge("from", query.from.as_deref())?.unwrap_or(Timestamp::MIN),
        edge("to", query.to.as_deref())?.unwrap_or(Timestamp::MAX),
    );
    let listing = Listing::of("readings", &(machine, window));
    let after = listing.after(query.cursor.as_deref())?;
    let source = ask.hours_source();
    let readings: Vec<_> = hours
        .readings(&source, machine, window)
        .await?
        .into_iter()
        .map(|(reading, seq)| ReadingDto {
            at: reading.at.into(),
            powered_on_s: reading.powered_on_s,
            in_cut_s: reading.in_cut_s,
            reset: reading.reset,
            seq,
        })
        .collect();
    let limit = page::limit(query.limit);
    let (items, next_cursor) = listing.page(&readings, after.as_ref(), limit, |reading| {
        (reading.at.0, reading.seq)
    })?;
    let items = items.into_iter().cloned().collect();
    Shown::new(&ReadingPage { items, next_cursor })
}
