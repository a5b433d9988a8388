use super::kept::KeptOrder;
use super::lapse_dto::LapseDto;
use super::line_body::NewLineBody;
use super::line_dto::{LineDto, LineStateName};
use crate::http::command::Accepted;
use crate::http::instant::Instant;
use crate::http::text;
use serde::{Deserialize, Serialize};
use spindlebook_domain::code::{Code, Name};
use spindlebook_domain::event::Event;
use spindlebook_domain::ids::{CustomerId, OrderId, Seq};
use spindlebook_domain::inspection::lapse;
use spindlebook_domain::job::Job;
use spindlebook_domain::order::{
    ChangeOrder, EnterOrder, Line, LineState, Order, jobs_of, may_ship, order_version,
};
use spindlebook_domain::shop::Shop;
use spindlebook_domain::time::Timestamp;
use utoipa::ToSchema;

/// A customer's order with its lines.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Order, example = json!({"id": "01936b5e-5c00-7000-8000-000000000701", "code": "SO-1041",
    "customer": "01936b5e-5c00-7000-8000-000000000301", "reference": "PO 77-120", "customer_approval_needed": false, "state": "open", "lines": [{"number": 1,
    "part": "01936b5e-5c00-7000-8000-000000000501", "revision": "A", "quantity": 24, "due": "2026-11-20",
    "priority": "normal", "material": {"expected": "2026-11-09", "arrived": null}, "waits_for_material": true,
    "quoted": [], "state": "entered", "jobs": [], "made": 0, "shipped": 0, "still_to_make": 24, "surplus": 0,
    "material_shortfall": 0, "may_ship_least": 24, "may_ship_most": 25, "shipments": [], "first_article_due": null, "version": 41}],
    "entered_at": "2026-11-02T06:00:00Z", "changed_seq": 41}))]
pub struct OrderDto {
    #[schema(value_type = uuid::Uuid)]
    pub id: OrderId,
    /// The order's number, as written.
    #[schema(value_type = text::Code)]
    pub code: Code,
    #[schema(value_type = Option<uuid::Uuid>)]
    pub customer: Option<CustomerId>,
    /// What the customer calls it.
    #[schema(value_type = Option<text::Name>)]
    pub reference: Option<Name>,
    /// Nothing of it is used as it is without the customer's reference.
    pub customer_approval_needed: bool,
    pub state: OrderStateName,
    /// In the order of their numbers.
    #[schema(max_items = 200)]
    pub lines: Vec<LineDto>,
    #[schema(value_type = text::Instant)]
    pub entered_at: Instant,
    /// The entry that last changed it, or one of its lines.
    #[schema(value_type = text::Seq)]
    pub changed_seq: Seq,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = OrderState)]
pub enum OrderStateName {
    Open,
    /// Each line is complete or cancelled, and one at least is complete.
    Complete,
    Cancelled,
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"code": "SO-1041", "customer": "01936b5e-5c00-7000-8000-000000000301", "reference": "PO 77-120",
    "lines": [{"part": "01936b5e-5c00-7000-8000-000000000501", "revision": "A", "quantity": 24, "due": "2026-11-20",
    "material": {"expected": "2026-11-09"}}]}))]
pub struct EnterOrderBody {
    #[schema(value_type = text::Code)]
    pub code: Code,
    /// Without a customer nothing more than ordered is shipped.
    #[schema(value_type = Option<uuid::Uuid>)]
    pub customer: Option<CustomerId>,
    #[schema(value_type = Option<text::Name>)]
    pub reference: Option<Name>,
    /// Nothing of it is used as it is without the customer's reference.
    #[serde(default)]
    pub customer_approval_needed: bool,
    #[schema(min_items = 1, max_items = 200)]
    pub lines: Vec<NewLineBody>,
}

/// All are replaced; what is left out is empty then, or false.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"customer": "01936b5e-5c00-7000-8000-000000000301", "reference": "PO 77-121"}))]
pub struct ChangeOrderBody {
    #[schema(value_type = Option<uuid::Uuid>)]
    pub customer: Option<CustomerId>,
    #[schema(value_type = Option<text::Name>)]
    pub reference: Option<Name>,
    /// Nothing of it is used as it is without the customer's reference.
    #[serde(default)]
    pub customer_approval_needed: bool,
}

/// A page of orders.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"items": [], "next_cursor": null}))]
pub struct OrderPage {
    #[schema(max_items = 200)]
    pub items: Vec<OrderDto>,
    /// Null on the last page.
    #[schema(value_type = Option<text::Cursor>)]
    pub next_cursor: Option<String>,
}

/// What came of an act on a line.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = LineActed, example = json!({"order": "01936b5e-5c00-7000-8000-000000000701", "number": 1, "state": "complete",
    "order_closed": true, "line": null}))]
pub struct LineActedDto {
    #[schema(value_type = uuid::Uuid)]
    pub order: OrderId,
    pub number: u32,
    pub state: LineStateName,
    /// It was the last line in work: order and jobs are closed with it.
    pub order_closed: bool,
    /// Null where the order is closed: GET shows it.
    pub line: Option<LineDto>,
}

impl EnterOrderBody {
    pub fn into_command(self, order: OrderId, now: Timestamp) -> EnterOrder {
        EnterOrder {
            customer_approval_needed: self.customer_approval_needed,
            order,
            code: self.code,
            customer: self.customer,
            reference: self.reference,
            lines: self.lines.into_iter().map(|line| line.into_line(now)).collect(),
        }
    }
}

impl ChangeOrderBody {
    pub fn into_command(self, order: OrderId, expected: Option<Seq>) -> ChangeOrder {
        ChangeOrder {
            customer_approval_needed: self.customer_approval_needed,
            order,
            customer: self.customer,
            reference: self.reference,
            expected,
        }
    }
}

impl OrderDto {
    /// One in work, with its version.
    pub fn open(shop: &Shop, id: OrderId) -> Option<(Self, Seq)> {
        let order = shop.orders.get(&id)?;
        let jobs: Vec<&Job> = order.lines.iter().flat_map(|line| jobs_of(shop, line)).collect();
        Some((Self::of(shop, order, &jobs), order_version(order, &jobs)))
    }

    pub fn kept(shop: &Shop, kept: &KeptOrder) -> (Self, Seq) {
        let jobs = kept.jobs();
        let version = order_version(&kept.order, &jobs);
        (Self::of(shop, &kept.order, &jobs), version)
    }

    fn of(shop: &Shop, order: &Order, jobs: &[&Job]) -> Self {
        let one = |line| line_of(shop, order, line, jobs);
        Self {
            id: order.id,
            code: order.code.clone(),
            customer: order.customer,
            reference: order.reference.clone(),
            customer_approval_needed: order.customer_approval_needed,
            state: OrderStateName::of(order),
            lines: order.lines.iter().map(one).collect(),
            entered_at: order.entered_at.into(),
            changed_seq: order.changed_seq,
        }
    }
}

impl OrderStateName {
    fn of(order: &Order) -> Self {
        let mut lines = order.lines.iter();
        if !order.is_closed() {
            Self::Open
        } else if lines.any(|line| matches!(line.state, LineState::Complete { .. })) {
            Self::Complete
        } else {
            Self::Cancelled
        }
    }
}

/// A line in work, with the version that a change of it is made on.
pub fn line_shown(shop: &Shop, order: OrderId, number: u32) -> Option<LineDto> {
    let order = shop.orders.get(&order)?;
    let line = order.line(number)?;
    let jobs: Vec<&Job> = jobs_of(shop, line).collect();
    Some(line_of(shop, order, line, &jobs))
}

/// Of a line that is not released, what its customer's rule says on the day on which the order was entered.
fn line_of(shop: &Shop, order: &Order, line: &Line, jobs: &[&Job]) -> LineDto {
    let released = jobs.iter().filter(|job| line.jobs().contains(&job.id));
    let due = released.clone().find_map(|job| job.first_article_due);
    let is_new = line.state == LineState::Entered;
    let lapsed = due.or_else(|| lapse(shop, order.customer, line.part, order.entered_at).filter(|_| is_new));
    LineDto {
        first_article_due: lapsed.map(LapseDto::from),
        ..LineDto::of(line, jobs, &may_ship(shop, order, line.quantity))
    }
}

impl LineActedDto {
    /// An order that is closed has left the shop; then the entries say what became of the line.
    pub fn of(accepted: &Accepted<'_>, order: OrderId, number: u32) -> Option<Self> {
        let mut events = accepted.entries.iter().map(|recorded| &recorded.event);
        let order_closed = events.any(|event| matches!(event, Event::OrderCompleted(_)));
        let line = line_shown(accepted.shop, order, number);
        let mut events = accepted.entries.iter().map(|recorded| &recorded.event);
        let closing = events.find_map(|event| match event {
            Event::LineCompleted(_) => Some(LineStateName::Complete),
            Event::LineCancelled(_) => Some(LineStateName::Cancelled),
            _ => None,
        });
        let state = line.as_ref().map(|line| line.state).or(closing)?;
        Some(Self {
            order,
            number,
            state,
            order_closed,
            line,
        })
    }
}
