//! The rows of what the shop works with and on: one table for all kinds, a line here for each.

use super::touched::json;
use serde::Serialize;
use spindlebook_domain::correction::{ActWithdrawn, Withdrawn};
use spindlebook_domain::event::Event;
use spindlebook_domain::ids::{
    CustomerId, FixtureId, JobId, OrderId, PalletId, PartId, RunId, Seq, VendorId,
};
use spindlebook_domain::job::Job;
use spindlebook_domain::order::{Line, Order};
use spindlebook_domain::run::Run;
use spindlebook_domain::shop::Shop;
use spindlebook_store::read::ThingRow;
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
    Order(OrderId),
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
            Event::CustomerInspectionSet(event) => Self::Customer(event.customer),
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
            Self::Order(id) => shop.orders.get(&id).map(|order| order_row("order", order)),
            Self::Job(id) => shop.jobs.get(&id).map(job_row),
        }
    }
}

fn of_orders(event: &Event) -> Vec<Thing> {
    let both = |order: OrderId, job: JobId| vec![Thing::Order(order), Thing::Job(job)];
    match event {
        Event::OrderEntered(event) => vec![Thing::Order(event.order)],
        Event::OrderChanged(event) => vec![Thing::Order(event.order)],
        Event::OrderApprovalSet(event) => vec![Thing::Order(event.order)],
        Event::FirstArticleDue(event) => vec![Thing::Job(event.job)],
        Event::LineAdded(event) => vec![Thing::Order(event.order)],
        Event::LineChanged(event) => vec![Thing::Order(event.order)],
        Event::MaterialExpected(event) => vec![Thing::Order(event.order)],
        Event::MaterialArrived(event) => vec![Thing::Order(event.order)],
        Event::LineCancelled(event) => vec![Thing::Order(event.order)],
        Event::LineCompleted(event) => vec![Thing::Order(event.order)],
        Event::LineReleased(event) => both(event.order, event.job),
        Event::OrderShipped(event) => vec![Thing::Order(event.order)],
        Event::JobSplit(event) => vec![Thing::Job(event.job), Thing::Job(event.into)],
        Event::BlanksAdded(event) => vec![Thing::Job(event.job)],
        Event::SteppedOut(event) => vec![Thing::Job(event.job)],
        Event::SteppedBack(event) => vec![Thing::Job(event.job)],
        Event::JobInspected(event) => vec![Thing::Job(event.job)],
        _ => Vec::new(),
    }
}

/// What an event about a line or a lot changes without naming it; `before` knows.
pub fn lots_of(event: &Event, before: &Shop) -> Vec<Thing> {
    let (order, line) = match event {
        Event::LineChanged(event) => (event.order, event.line),
        Event::MaterialArrived(event) => (event.order, event.line),
        Event::LineCancelled(event) => (event.order, event.line),
        Event::LineCompleted(event) => (event.order, event.line),
        Event::JobSplit(event) => {
            let job = before.jobs.get(&event.job);
            return job.map(|job| Thing::Order(job.order)).into_iter().collect();
        }
        // A doubt takes back what was accepted of the load.
        Event::HoldPlaced(event) => {
            let load = before
                .pallets
                .get(&event.pallet)
                .and_then(|pallet| pallet.load.as_ref());
            let decided = load.into_iter().flat_map(|load| &load.decided);
            return decided.map(|verdict| Thing::Job(verdict.job)).collect();
        }
        _ => return Vec::new(),
    };
    let line = before.orders.get(&order).and_then(|order| order.line(line));
    let lots = line.map_or(&[][..], |line| line.jobs());
    lots.iter().map(|lot| Thing::Job(*lot)).collect()
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
        Event::ActWithdrawn(event) => withdrawn(event),
        Event::RunRetimed(event) => run(event.run, event.pallet),
        Event::PalletRecounted(event) => event.counts.iter().map(|count| Thing::Job(count.job)).collect(),
        Event::HoldDisposed(event) => {
            let jobs = event.pieces.iter().map(|one| Thing::Job(one.job));
            jobs.chain([Thing::Pallet(event.pallet)]).collect()
        }
        Event::InspectionReversed(event) => {
            let jobs = event.pieces.iter().map(|one| Thing::Job(one.job));
            jobs.chain(event.pallet.map(Thing::Pallet)).collect()
        }
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

fn withdrawn(event: &ActWithdrawn) -> Vec<Thing> {
    let of_it = match &event.what {
        Withdrawn::Load { clamped, .. } => clamped.iter().map(|one| Thing::Job(one.job)).collect(),
        Withdrawn::Start { run, .. } | Withdrawn::Pause { run, .. } | Withdrawn::Finish { run, .. } => {
            vec![Thing::Run(*run)]
        }
        Withdrawn::SetupStart { .. } | Withdrawn::SetupEnd { .. } | Withdrawn::Move { .. } => Vec::new(),
    };
    of_it.into_iter().chain([Thing::Pallet(event.pallet)]).collect()
}

/// What leaves the shop with this event keeps its row as it was last; `before` has it still.
pub fn left_by(event: &Event, before: &Shop) -> Vec<ThingRow> {
    match event {
        Event::PalletUnloaded(event) => {
            let of_load = before.runs.values().filter(|run| run.load == event.load);
            of_load.map(run_row).collect()
        }
        // A run that never was leaves the row that said it was, so that both versions can be read.
        Event::ActWithdrawn(event) => match &event.what {
            Withdrawn::Start { run, .. } => before.runs.get(run).map(run_row).into_iter().collect(),
            _ => Vec::new(),
        },
        Event::OrderCompleted(event) => closed(event.order, before),
        _ => Vec::new(),
    }
}

fn closed(order: OrderId, before: &Shop) -> Vec<ThingRow> {
    let Some(order) = before.orders.get(&order) else {
        return Vec::new();
    };
    let lots = order.lines.iter().flat_map(Line::jobs);
    let jobs = lots.filter_map(|lot| before.jobs.get(lot));
    let mut rows: Vec<_> = jobs.map(job_row).collect();
    rows.push(order_row("closed_order", order));
    rows
}

fn order_row(kind: &str, order: &Order) -> ThingRow {
    let name = order
        .reference
        .as_ref()
        .map_or("", |reference| reference.as_str());
    row(kind, order.id.0, &order.code, &name, order, order.changed_seq)
}

/// What a job is called depends on its order: the row holds only what is the job's own. A job can be closed while its
/// order is open.
fn job_row(job: &Job) -> ThingRow {
    let kind = if job.is_open() { "job" } else { "closed_job" };
    row(kind, job.id.0, &job.revision, &job.part, job, job.changed_seq)
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
