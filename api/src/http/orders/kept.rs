//! Orders and jobs as they are, whether they are in work or closed: closed ones have left the shop and stay in the table.

use crate::http::ask::Ask;
use crate::problem::Problem;
use serde::de::DeserializeOwned;
use spindlebook_domain::ids::{JobId, OrderId, Seq};
use spindlebook_domain::job::{Job, JobRefusal};
use spindlebook_domain::order::{Line, Order, OrderRefusal};
use spindlebook_domain::refusal::Refusal;
use spindlebook_store::read::{self, ThingRow};
use std::collections::BTreeMap;
use uuid::Uuid;

const ORDER: &str = "closed_order";
const JOB: &str = "closed_job";

/// An order and the jobs that it has.
#[derive(Debug)]
pub struct KeptOrder {
    pub order: Order,
    pub jobs: Vec<Job>,
}

impl KeptOrder {
    pub fn jobs(&self) -> Vec<&Job> {
        self.jobs.iter().collect()
    }
}

/// What a page of closed things goes on from.
pub type Behind = (Seq, Uuid);

pub async fn order<O>(ask: &Ask<O>, id: OrderId) -> Result<KeptOrder, Problem> {
    let mut found = orders(ask, &[id]).await?;
    found
        .remove(&id)
        .ok_or_else(|| Problem::from(Refusal::from(OrderRefusal::Unknown { order: id })))
}

/// Those that there are, with their jobs.
pub async fn orders<O>(ask: &Ask<O>, ids: &[OrderId]) -> Result<BTreeMap<OrderId, KeptOrder>, Problem> {
    let mut orders = Vec::with_capacity(ids.len());
    let mut closed = Vec::new();
    for id in ids {
        match ask.shop.orders.get(id) {
            Some(order) => orders.push(order.clone()),
            None => closed.push(id.0),
        }
    }
    orders.extend(rows_of(ask, ORDER, &closed).await?);
    with_jobs(ask, orders).await
}

/// The last closed first.
pub async fn closed_orders<O>(
    ask: &Ask<O>,
    behind: Option<Behind>,
    limit: usize,
) -> Result<Vec<KeptOrder>, Problem> {
    let rows = newest(ask, ORDER, None, behind, limit).await?;
    let orders: Vec<Order> = parsed(&rows)?;
    let sequence: Vec<_> = orders.iter().map(|order| order.id).collect();
    let mut kept = with_jobs(ask, orders).await?;
    Ok(sequence.iter().filter_map(|id| kept.remove(id)).collect())
}

pub async fn job<O>(ask: &Ask<O>, id: JobId) -> Result<Job, Problem> {
    let found = jobs(ask, &[id]).await?.pop();
    found.ok_or_else(|| Problem::from(Refusal::from(JobRefusal::Unknown { job: id })))
}

/// The last closed first; only of this part, if one is named.
pub async fn closed_jobs<O>(
    ask: &Ask<O>,
    part: Option<String>,
    behind: Option<Behind>,
    limit: usize,
) -> Result<Vec<Job>, Problem> {
    let rows = newest(ask, JOB, part.as_deref(), behind, limit).await?;
    parsed(&rows)
}

async fn with_jobs<O>(ask: &Ask<O>, orders: Vec<Order>) -> Result<BTreeMap<OrderId, KeptOrder>, Problem> {
    let lots = orders.iter().flat_map(|order| &order.lines);
    let ids: Vec<_> = lots.flat_map(Line::jobs).copied().collect();
    let mut by_order = BTreeMap::<OrderId, Vec<Job>>::new();
    for job in jobs(ask, &ids).await? {
        by_order.entry(job.order).or_default().push(job);
    }
    let kept = orders.into_iter().map(|order| {
        let jobs = by_order.remove(&order.id).unwrap_or_default();
        (order.id, KeptOrder { order, jobs })
    });
    Ok(kept.collect())
}

async fn jobs<O>(ask: &Ask<O>, ids: &[JobId]) -> Result<Vec<Job>, Problem> {
    let mut jobs = Vec::with_capacity(ids.len());
    let mut closed = Vec::new();
    for id in ids {
        match ask.shop.jobs.get(id) {
            Some(job) => jobs.push(job.clone()),
            None => closed.push(id.0),
        }
    }
    jobs.extend(rows_of::<_, Job>(ask, JOB, &closed).await?);
    Ok(jobs)
}

async fn rows_of<O, T: DeserializeOwned>(ask: &Ask<O>, kind: &str, ids: &[Uuid]) -> Result<Vec<T>, Problem> {
    if ids.is_empty() {
        return Ok(Vec::new());
    }
    let mut session = ask.book.store().session().await?;
    parsed(&read::things(&mut session, ask.caller.site, kind, ids).await?)
}

async fn newest<O>(
    ask: &Ask<O>,
    kind: &str,
    named: Option<&str>,
    behind: Option<Behind>,
    limit: usize,
) -> Result<Vec<ThingRow>, Problem> {
    let mut session = ask.book.store().session().await?;
    Ok(read::newest_things(&mut session, ask.caller.site, kind, named, behind, limit).await?)
}

fn parsed<T: DeserializeOwned>(rows: &[ThingRow]) -> Result<Vec<T>, Problem> {
    let one = |row: &ThingRow| serde_json::from_str(&row.body).map_err(|error| Problem::fault(&error));
    rows.iter().map(one).collect()
}
