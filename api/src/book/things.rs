//! The rows of what the shop works with and on: one table for all kinds, a line here for each.

use super::touched::json;
use serde::Serialize;
use spindlebook_domain::event::Event;
use spindlebook_domain::ids::{
    CustomerId, FixtureId, JobId, OrderId, PalletId, PartId, RunId, Seq, VendorId,
};
use spindlebook_domain::job::Job;
use spindlebook_domain::order::{Line, Order, job_name};
use spindlebook_domain::run::Run;
use spindlebook_domain::shop::Shop;
use spindlebook_store::read::ThingRow;
use std::collections::BTreeSet;
use std::fmt::Display;
use uuid::Uuid;

/// What has a row in the table `thing`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Thing {
    Pallet(PalletId),
    Fixture(FixtureId),
    Customer(CustomerId),
    Vendor(VendorId),
    Part(PartId),
    Run(RunId),
    /// With its jobs: what changes one changes the other.
    Order(OrderId),
    /// With its order.
    Job(JobId),
}

impl Thing {
    /// The things that an event changes.
    pub fn changed_by(event: &Event) -> Vec<Self> {
        let floor = on_the_floor(event);
        floor
            .into_iter()
            .chain(Self::of_catalogue(event))
            .chain(of_orders(event))
            .collect()
    }

    const fn of_catalogue(event: &Event) -> Option<Self> {
        Some(match event {
            Event::PalletAdded(event) => Self::Pallet(event.pallet),
            Event::PalletChanged(event) => Self::Pallet(event.pallet),
            Event::FixtureAdded(event) => Self::Fixture(event.fixture),
            Event::FixtureChanged(event) => Self::Fixture(event.fixture),
            Event::FixtureCopyAdded(event) => Self::Fixture(event.fixture),
            Event::CustomerAdded(event) => Self::Customer(event.customer),
            Event::CustomerChanged(event) => Self::Customer(event.customer),
            Event::VendorAdded(event) => Self::Vendor(event.vendor),
            Event::VendorChanged(event) => Self::Vendor(event.vendor),
            Event::PartAdded(event) => Self::Part(event.part),
            Event::PartChanged(event) => Self::Part(event.part),
            Event::RevisionAdded(event) => Self::Part(event.part),
            Event::RoutingSet(event) => Self::Part(event.part),
            _ => return None,
        })
    }

    /// As `shop` has it now.
    pub fn row(self, shop: &Shop) -> Option<ThingRow> {
        match self {
            Self::Pallet(id) => shop.pallets.get(&id).map(|pallet| {
                let facts = &pallet.facts;
                row(
                    "pallet",
                    id.0,
                    &facts.code,
                    &facts.name,
                    pallet,
                    pallet.changed_seq,
                )
            }),
            Self::Fixture(id) => shop.fixtures.get(&id).map(|fixture| {
                let facts = &fixture.facts;
                row(
                    "fixture",
                    id.0,
                    &facts.code,
                    &facts.name,
                    fixture,
                    fixture.changed_seq,
                )
            }),
            Self::Customer(id) => shop.customers.get(&id).map(|customer| {
                let facts = &customer.facts;
                row(
                    "customer",
                    id.0,
                    &facts.code,
                    &facts.name,
                    customer,
                    customer.changed_seq,
                )
            }),
            Self::Vendor(id) => shop.vendors.get(&id).map(|vendor| {
                let facts = &vendor.facts;
                row(
                    "vendor",
                    id.0,
                    &facts.code,
                    &facts.name,
                    vendor,
                    vendor.changed_seq,
                )
            }),
            Self::Part(id) => shop
                .parts
                .get(&id)
                .map(|part| row("part", id.0, &part.code, &part.name, part, part.changed_seq)),
            Self::Run(id) => shop.runs.get(&id).map(run_row),
            Self::Order(id) => shop.orders.get(&id).map(order_row),
            Self::Job(id) => Some(job_row(shop, shop.jobs.get(&id)?)),
        }
    }
}

/// These things, each once, with what changes along with them.
pub fn things_of(things: &BTreeSet<Thing>, shop: &Shop) -> Vec<ThingRow> {
    let mut all = things.clone();
    for thing in things {
        let order = match thing {
            Thing::Order(order) => Some(*order),
            Thing::Job(job) => shop.jobs.get(job).map(|job| job.order),
            _ => None,
        };
        if let Some(order) = order.and_then(|order| shop.orders.get(&order)) {
            all.insert(Thing::Order(order.id));
            let jobs = order.lines.iter().flat_map(Line::jobs);
            all.extend(jobs.map(|job| Thing::Job(*job)));
        }
    }
    all.into_iter().filter_map(|thing| thing.row(shop)).collect()
}

fn of_orders(event: &Event) -> Option<Thing> {
    Some(match event {
        Event::OrderEntered(event) => Thing::Order(event.order),
        Event::OrderChanged(event) => Thing::Order(event.order),
        Event::LineAdded(event) => Thing::Order(event.order),
        Event::LineChanged(event) => Thing::Order(event.order),
        Event::MaterialExpected(event) => Thing::Order(event.order),
        Event::MaterialArrived(event) => Thing::Order(event.order),
        Event::LineReleased(event) => Thing::Order(event.order),
        Event::LineCancelled(event) => Thing::Order(event.order),
        Event::LineCompleted(event) => Thing::Order(event.order),
        Event::OrderShipped(event) => Thing::Order(event.order),
        Event::JobSplit(event) => Thing::Job(event.job),
        Event::BlanksAdded(event) => Thing::Job(event.job),
        Event::SteppedOut(event) => Thing::Job(event.job),
        Event::SteppedBack(event) => Thing::Job(event.job),
        Event::JobInspected(event) => Thing::Job(event.job),
        _ => return None,
    })
}

/// Every act on a run is one on its pallet.
fn on_the_floor(event: &Event) -> Vec<Thing> {
    let run = |run: RunId, pallet: PalletId| vec![Thing::Run(run), Thing::Pallet(pallet)];
    match event {
        Event::SetupStarted(event) => vec![Thing::Pallet(event.pallet)],
        Event::SetupEnded(event) => vec![Thing::Pallet(event.pallet)],
        Event::PalletUnmounted(event) => vec![Thing::Pallet(event.pallet)],
        Event::PalletLoaded(event) => {
            let jobs = event.clamped.iter().map(|clamped| Thing::Job(clamped.job));
            jobs.chain([Thing::Pallet(event.pallet)]).collect()
        }
        Event::PalletMoved(event) => vec![Thing::Pallet(event.pallet)],
        Event::PalletUnloaded(event) => {
            let jobs = event.counts.iter().map(|count| Thing::Job(count.job));
            jobs.chain([Thing::Pallet(event.pallet)]).collect()
        }
        Event::HoldPlaced(event) => vec![Thing::Pallet(event.pallet)],
        Event::HoldAccepted(event) => vec![Thing::Pallet(event.pallet)],
        Event::FloorOpened(event) => event
            .pallets
            .iter()
            .map(|pallet| Thing::Pallet(pallet.pallet))
            .chain(event.jobs.iter().map(|job| Thing::Job(job.job)))
            .collect(),
        Event::RunStarted(event) => run(event.run, event.pallet),
        Event::RunPaused(event) => run(event.run, event.pallet),
        Event::RunResumed(event) => run(event.run, event.pallet),
        Event::RunFinished(event) => run(event.run, event.pallet),
        Event::RunAborted(event) => run(event.run, event.pallet),
        _ => Vec::new(),
    }
}

/// What leaves the shop with this event keeps its row as it was last; `before` has it still.
pub fn left_by(event: &Event, before: &Shop) -> Vec<ThingRow> {
    match event {
        Event::PalletUnloaded(event) => {
            let of_load = before.runs.values().filter(|run| run.load == event.load);
            of_load.map(run_row).collect()
        }
        Event::OrderCompleted(event) => things_of(&BTreeSet::from([Thing::Order(event.order)]), before),
        _ => Vec::new(),
    }
}

fn order_row(order: &Order) -> ThingRow {
    let name = order
        .reference
        .as_ref()
        .map_or("", |reference| reference.as_str());
    row("order", order.id.0, &order.code, &name, order, order.changed_seq)
}

/// By order, line and lot.
fn job_row(shop: &Shop, job: &Job) -> ThingRow {
    let order = shop.orders.get(&job.order);
    let code = order.map_or_else(|| job.id.to_string(), |order| job_name(order, job));
    let part = shop.parts.get(&job.part).map_or("", |part| part.name.as_str());
    row("job", job.id.0, &code, &part, job, job.changed_seq)
}

fn run_row(run: &Run) -> ThingRow {
    row("run", run.id.0, &run.id, &run.purpose, run, run.changed_seq)
}

/// All of them.
pub fn things(shop: &Shop) -> Vec<ThingRow> {
    let pallets = shop.pallets.iter().map(|(id, _)| Thing::Pallet(*id));
    let fixtures = shop.fixtures.iter().map(|(id, _)| Thing::Fixture(*id));
    let customers = shop.customers.iter().map(|(id, _)| Thing::Customer(*id));
    let vendors = shop.vendors.iter().map(|(id, _)| Thing::Vendor(*id));
    let parts = shop.parts.iter().map(|(id, _)| Thing::Part(*id));
    let runs = shop.runs.iter().map(|(id, _)| Thing::Run(*id));
    let orders = shop.orders.iter().map(|(id, _)| Thing::Order(*id));
    let jobs = shop.jobs.iter().map(|(id, _)| Thing::Job(*id));
    let all = pallets
        .chain(fixtures)
        .chain(customers)
        .chain(vendors)
        .chain(parts)
        .chain(runs)
        .chain(orders)
        .chain(jobs);
    all.filter_map(|thing| thing.row(shop)).collect()
}

fn row(
    kind: &str,
    id: Uuid,
    code: &impl Display,
    name: &impl Display,
    body: &impl Serialize,
    changed_seq: Seq,
) -> ThingRow {
    ThingRow {
        id,
        kind: kind.to_owned(),
        code: code.to_string(),
        name: name.to_string(),
        body: json(body),
        changed_seq,
    }
}
