//! Orders: what customers want, line by line, from entering to shipping. A line that is released becomes a job.

mod apply;
mod change;
mod command;
mod deliver;
mod enter;
mod event;
mod progress;
mod refusal;
mod release;
#[cfg(test)]
pub(crate) mod tests;

pub(crate) use apply::{add_lot, lots};
pub use change::{Preview, open_line, preview};
pub use command::{
    AddLine, CancelLine, ChangeLine, ChangeOrder, CompleteLine, EnterOrder, ExpectMaterial, NewLine,
    ReceiveMaterial, ReleaseLine, ReleaseOrder, Ship,
};
pub use event::{
    Arrived, JobQuantity, LineAdded, LineCancelled, LineChanged, LineCompleted, LineFacts, LineReleased,
    LineTerms, Material, MaterialArrived, MaterialExpected, OrderChanged, OrderCompleted, OrderEntered,
    OrderShipped, Priority, Quoted,
};
pub use progress::Progress;
pub use refusal::OrderRefusal;

use crate::code::{Code, Name};
use crate::command::Command;
use crate::entry::EntryMeta;
use crate::event::Event;
use crate::ids::{CustomerId, JobId, OrderId, PartId, Seq};
use crate::job::Job;
use crate::refusal::Refusal;
use crate::shop::Shop;
use crate::time::Timestamp;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

/// Open ones; closed orders leave the shop.
pub const ORDERS_MAX: usize = 10_000;
pub const LINES_MAX: usize = 200;
pub const LINE_NUMBER_MAX: u32 = 99_999;
pub const SHIPMENTS_MAX: usize = 500;
pub const LOTS_MAX: usize = 50;
/// One for each operation.
pub const QUOTED_MAX: usize = crate::part::OPERATIONS_MAX;

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Order {
    pub id: OrderId,
    /// The order's number, as written.
    pub code: Code,
    pub customer: Option<CustomerId>,
    /// What the customer calls it.
    pub reference: Option<Name>,
    /// Nothing of it is used as it is without the customer's reference.
    pub customer_approval_needed: bool,
    /// Ascending by number.
    pub lines: Vec<Line>,
    pub entered_at: Timestamp,
    pub changed_seq: Seq,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Line {
    pub number: u32,
    pub part: PartId,
    pub revision: Code,
    pub quantity: u32,
    pub due: NaiveDate,
    pub priority: Priority,
    pub material: Material,
    pub quoted: Vec<Quoted>,
    pub state: LineState,
    pub shipments: Vec<Shipment>,
    pub changed_seq: Seq,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LineState {
    Entered,
    Released { jobs: Vec<JobId> },
    Complete { jobs: Vec<JobId> },
    Cancelled { jobs: Vec<JobId> },
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Shipment {
    pub at: Timestamp,
    pub pieces: u32,
    /// The lot that they are from, and with it the certificate.
    pub job: JobId,
}

impl Order {
    pub fn line(&self, number: u32) -> Option<&Line> {
        self.lines.iter().find(|line| line.number == number)
    }

    pub fn is_closed(&self) -> bool {
        self.lines.iter().all(Line::is_closed)
    }
}

impl Line {
    pub fn jobs(&self) -> &[JobId] {
        match &self.state {
            LineState::Entered => &[],
            LineState::Released { jobs } | LineState::Complete { jobs } | LineState::Cancelled { jobs } => {
                jobs
            }
        }
    }

    pub const fn is_closed(&self) -> bool {
        matches!(
            self.state,
            LineState::Complete { .. } | LineState::Cancelled { .. }
        )
    }

    pub fn shipped(&self) -> u32 {
        self.shipments.iter().map(|shipment| shipment.pieces).sum()
    }

    pub fn shipped_of(&self, job: JobId) -> u32 {
        let of_job = self.shipments.iter().filter(|shipment| shipment.job == job);
        of_job.map(|shipment| shipment.pieces).sum()
    }

    /// Nobody has said that the material is here.
    pub const fn waits_for_material(&self) -> bool {
        self.material.arrived.is_none()
    }
}

/// The lots of a line, in the order in which they came to be.
pub fn jobs_of<'a>(shop: &'a Shop, line: &'a Line) -> impl DoubleEndedIterator<Item = &'a Job> {
    line.jobs().iter().filter_map(|job| shop.jobs.get(job))
}

/// The line that a job makes.
pub fn line_of<'a>(shop: &'a Shop, job: &Job) -> Option<&'a Line> {
    shop.orders.get(&job.order)?.line(job.line)
}

/// What people call a job: order and line, and the lot where there are several.
pub fn job_name(order: &Order, job: &Job) -> String {
    let lots = order.line(job.line).map_or(&[][..], Line::jobs);
    match lots.iter().position(|lot| *lot == job.id) {
        Some(lot) if lot > 0 => format!("{}/{}-{}", order.code, job.line, lot + 1),
        _ => format!("{}/{}", order.code, job.line),
    }
}

/// The version of a line together with what has happened to its lots: whoever changes it has seen both.
pub fn version(shop: &Shop, line: &Line) -> Seq {
    let lots = jobs_of(shop, line).map(|job| job.changed_seq);
    lots.fold(line.changed_seq, Seq::max)
}

/// The least and the most that may be shipped on a line. Without a customer there is no tolerance.
pub fn may_ship(shop: &Shop, order: &Order, quantity: u32) -> std::ops::RangeInclusive<u32> {
    let customer = order.customer.and_then(|customer| shop.customers.get(&customer));
    customer.map_or(quantity..=quantity, |customer| customer.may_ship(quantity))
}

/// The version of an order together with what has happened to its lots.
pub fn order_version(order: &Order, jobs: &[&Job]) -> Seq {
    let lots = jobs.iter().map(|job| job.changed_seq);
    lots.fold(order.changed_seq, Seq::max)
}

/// Finished pieces of all lots of a line.
pub fn made(shop: &Shop, line: &Line) -> u32 {
    jobs_of(shop, line).map(Job::made).sum()
}

/// Finished pieces that may not be shipped on this line, for a person to decide before packing.
pub fn surplus(shop: &Shop, order: &Order, line: &Line) -> u32 {
    made(shop, line).saturating_sub(*may_ship(shop, order, line.quantity).end())
}

macro_rules! order_commands {
    () => {
        Command::EnterOrder(_)
            | Command::ChangeOrder(_)
            | Command::AddLine(_)
            | Command::ChangeLine(_)
            | Command::ExpectMaterial(_)
            | Command::ReceiveMaterial(_)
            | Command::ReleaseOrder(_)
            | Command::CancelLine(_)
            | Command::CompleteLine(_)
            | Command::Ship(_)
    };
}
pub(crate) use order_commands;

macro_rules! order_events {
    () => {
        Event::OrderEntered(_)
            | Event::OrderChanged(_)
            | Event::LineAdded(_)
            | Event::LineChanged(_)
            | Event::MaterialExpected(_)
            | Event::MaterialArrived(_)
            | Event::LineReleased(_)
            | Event::LineCancelled(_)
            | Event::LineCompleted(_)
            | Event::OrderShipped(_)
            | Event::OrderCompleted(_)
    };
}
pub(crate) use order_events;

/// Commands of other topics give nothing.
pub(crate) fn decide(shop: &Shop, command: &Command, now: Timestamp) -> Result<Vec<Event>, Refusal> {
    match command {
        Command::EnterOrder(command) => Ok(enter::enter(shop, command)?),
        Command::ChangeOrder(command) => Ok(enter::change(shop, command)?),
        Command::AddLine(command) => Ok(vec![enter::add_line(shop, command)?.into()]),
        Command::ChangeLine(command) => Ok(change::change_line(shop, command)?),
        Command::ExpectMaterial(command) => Ok(vec![release::expect_material(shop, command)?.into()]),
        Command::ReceiveMaterial(command) => Ok(vec![release::receive_material(shop, command, now)?.into()]),
        Command::ReleaseOrder(command) => Ok(release::release(shop, command, now)?),
        Command::CancelLine(command) => Ok(change::cancel_line(shop, command)?),
        Command::CompleteLine(command) => Ok(deliver::complete_line(shop, command)?),
        Command::Ship(command) => deliver::ship(shop, command, now),
        _ => Ok(Vec::new()),
    }
}

pub(crate) fn apply(shop: &mut Shop, event: &Event, meta: &EntryMeta) {
    apply::apply(shop, event, meta);
}
