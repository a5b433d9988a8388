use super::dto::{OrderDto, OrderPage};
use super::kept;
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::page::{self, Limit, Listing};
use crate::http::parameters::Parameters;
use crate::http::shown::Shown;
use crate::http::text;
use crate::problem::Problem;
use actix_web::get;
use serde::Deserialize;
use utoipa::{IntoParams, ToSchema};

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum OpenOrClosed {
    #[default]
    Open,
    Closed,
}

#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct OrdersQuery {
    /// Without it, the open ones.
    #[param(inline)]
    #[serde(default)]
    pub state: OpenOrClosed,
    /// How many items at most: 50 without it, 200 at most.
    pub limit: Option<Limit>,
    /// `next_cursor` of the page before.
    #[param(value_type = Option<text::Cursor>)]
    pub cursor: Option<String>,
}

/// List the orders
///
/// Open ones in the order of their numbers; closed ones as they were closed, the last one first.
#[utoipa::path(
    operation_id = "listOrders",
    tag = "Orders",
    params(OrdersQuery),
    responses((status = 200, description = "A page of orders", body = OrderPage))
)]
#[get("/v1/orders")]
pub async fn list_orders(ask: Ask<op::ListOrders>, query: Parameters<OrdersQuery>) -> Result<Shown, Problem> {
    let Parameters(OrdersQuery { state, limit, cursor }) = query;
    let listing = Listing::of("orders", &state);
    let limit = page::limit(limit);
    if state == OpenOrClosed::Closed {
        let behind = listing.after(cursor.as_deref())?;
        let mut closed = kept::closed_orders(&ask, behind, limit + 1).await?;
        let has_more = closed.len() > limit;
        closed.truncate(limit);
        let last = closed.last().filter(|_| has_more);
        let key = last.map(|last| (last.order.changed_seq, last.order.id.0));
        let next_cursor = key.map(|key| listing.cursor(&key)).transpose()?;
        let items = closed
            .iter()
            .map(|kept| OrderDto::kept(&ask.shop, kept).0)
            .collect();
        return Shown::new(&OrderPage { items, next_cursor });
    }
    let mut open: Vec<_> = ask.shop.orders.values().collect();
    open.sort_by(|a, b| (&a.code, a.id).cmp(&(&b.code, b.id)));
    let after = listing.after(cursor.as_deref())?;
    let (items, next_cursor) = listing.page(open, after.as_ref(), limit, |order| {
        (order.code.clone(), order.id)
    })?;
    let shown = items
        .into_iter()
        .filter_map(|order| OrderDto::open(&ask.shop, order.id));
    let items = shown.map(|(order, _)| order).collect();
    Shown::new(&OrderPage { items, next_cursor })
}
