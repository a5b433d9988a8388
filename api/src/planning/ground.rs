//! What a plan is made from: the shop as it stands, and what the last plan meant to do.

use crate::book::{Book, LedgerError};
use spindlebook_domain::event::Event;
use spindlebook_domain::ids::{OrderId, Seq, SiteId};
use spindlebook_domain::plan::PlannedLoad;
use spindlebook_domain::plan::model::PlanOptions;
use spindlebook_domain::plan::schedule::as_last;
use spindlebook_domain::shop::Shop;
use spindlebook_domain::site::Site;
use spindlebook_domain::time::Timestamp;
use std::sync::Arc;

#[derive(Clone, Debug)]
pub struct Ground {
    pub shop: Arc<Shop>,
    pub site: Site,
    pub now: Timestamp,
    pub options: PlanOptions,
}

/// A line that was promised for a time of day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DueTime {
    pub order: OrderId,
    pub line: u32,
    pub due_at: Timestamp,
}

impl Ground {
    /// `None`: the site is not open yet.
    pub async fn of(
        book: &Book,
        site_id: SiteId,
        shop: Arc<Shop>,
        due_times: &[DueTime],
    ) -> Result<Option<Self>, LedgerError> {
        let Some(site) = shop.site.clone() else {
            return Ok(None);
        };
        let current = shop.current_plan.and_then(|plan| shop.plans.get(&plan));
        let last = match current.map(|plan| plan.posted_seq) {
            Some(seq) => loads_of(book, site_id, seq).await?,
            None => Vec::new(),
        };
        let promised = due_times.iter().map(|due| ((due.order, due.line), due.due_at));
        let options = PlanOptions {
            promised: promised.collect(),
            last: as_last(&last),
            ..PlanOptions::default()
        };
        let now = book.now();
        Ok(Some(Self {
            shop,
            site,
            now,
            options,
        }))
    }
}

/// They stand in the entry that posted the plan.
async fn loads_of(book: &Book, site: SiteId, seq: Seq) -> Result<Vec<PlannedLoad>, LedgerError> {
    let entries = book.entries_at(site, &[seq]).await?;
    let posted = entries.first().and_then(|entry| {
        let envelope = &entry.envelope;
        Event::decode(&envelope.kind, envelope.schema, &entry.payload).ok()
    });
    Ok(match posted {
        Some(Event::PlanPosted(posted)) => posted.loads,
        _ => Vec::new(),
    })
}
