use super::dto::{MachineDto, MachinePage};
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::find;
use crate::http::page::{self, Limit, Listing};
use crate::http::parameters::Parameters;
use crate::http::shown::Shown;
use crate::http::text;
use crate::problem::Problem;
use actix_web::get;
use serde::Deserialize;
use utoipa::IntoParams;

#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct MachinesQuery {
    /// Only the machines of this cell.
    #[param(value_type = Option<text::CodeOrId>)]
    pub cell: Option<String>,
    /// How many items at most: 50 without it, 200 at most.
    pub limit: Option<Limit>,
    /// `next_cursor` of the page before.
    #[param(value_type = Option<text::Cursor>)]
    pub cursor: Option<String>,
}

/// List the machines
///
/// In the order of their codes.
#[utoipa::path(
    operation_id = "listMachines",
    tag = "Machines",
    params(MachinesQuery),
    responses((status = 200, description = "A page of machines", body = MachinePage))
)]
#[get("/v1/machines")]
pub async fn list_machines(
    ask: Ask<op::ListMachines>,
    query: Parameters<MachinesQuery>,
) -> Result<Shown, Problem> {
    let Parameters(MachinesQuery { cell, limit, cursor }) = query;
    let cell = cell.map(|named| find::cell(&ask.shop, &named)).transpose()?;
    let cell = cell.map(|cell| cell.id);
    let listing = Listing::of("machines", &cell);
    let all = ask.shop.machines.values();
    let mut machines: Vec<_> = all
        .filter(|machine| cell.is_none_or(|cell| machine.cell == cell))
        .collect();
    machines.sort_by(|a, b| (&a.code, a.id).cmp(&(&b.code, b.id)));
    let after = listing.after(cursor.as_deref())?;
    let (items, next_cursor) = listing.page(machines, after.as_ref(), page::limit(limit), |machine| {
        (machine.code.clone(), machine.id)
    })?;
    let items = items.into_iter().map(MachineDto::from).collect();
    Shown::new(&MachinePage { items, next_cursor })
}
