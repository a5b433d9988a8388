use super::dto::{JobDto, JobPage};
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::orders::kept;
use crate::http::orders::list::OpenOrClosed;
use crate::http::page::{self, Limit, Listing};
use crate::http::parameters::Parameters;
use crate::http::shown::Shown;
use crate::http::text;
use crate::problem::Problem;
use actix_web::get;
use serde::Deserialize;
use spindlebook_domain::ids::{OrderId, PartId};
use spindlebook_domain::job::Job;
use std::cmp::Reverse;
use utoipa::IntoParams;
use uuid::Uuid;

#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct JobsQuery {
    /// Without it, the open ones; closed are those that are complete or cancelled.
    #[param(inline)]
    #[serde(default)]
    pub state: OpenOrClosed,
    /// Only jobs of this order.
    pub order: Option<Uuid>,
    /// Only jobs of this part, in any revision.
    pub part: Option<Uuid>,
    /// How many items at most: 50 without it, 200 at most.
    pub limit: Option<Limit>,
    /// `next_cursor` of the page before.
    #[param(value_type = Option<text::Cursor>)]
    pub cursor: Option<String>,
}

/// List the jobs
///
/// Open ones as they were released, closed ones as they were closed; the last one first.
#[utoipa::path(
    operation_id = "listJobs",
    tag = "Jobs",
    params(JobsQuery),
    responses((status = 200, description = "A page of jobs", body = JobPage))
)]
#[get("/v1/jobs")]
pub async fn list_jobs(ask: Ask<op::ListJobs>, query: Parameters<JobsQuery>) -> Result<Shown, Problem> {
    let Parameters(query) = query;
    let listing = Listing::of("jobs", &(query.state, query.order, query.part));
    let limit = page::limit(query.limit);
    let behind = listing.after::<kept::Behind>(query.cursor.as_deref())?;
    let part = query.part.map(PartId);
    let is_wanted = |job: &Job| {
        job.is_open() == (query.state == OpenOrClosed::Open) && part.is_none_or(|part| job.part == part)
    };
    let mut jobs = match (query.order.map(OrderId), query.state) {
        (Some(order), _) => {
            let kept = kept::orders(&ask, &[order]).await?.remove(&order);
            let mut jobs = kept.map_or_else(Vec::new, |kept| kept.jobs);
            jobs.retain(is_wanted);
            jobs
        }
        (None, OpenOrClosed::Open) => ask
            .shop
            .jobs
            .values()
            .filter(|job| is_wanted(job))
            .cloned()
            .collect(),
        (None, OpenOrClosed::Closed) => {
            let part = query.part.map(|part| part.to_string());
            kept::closed_jobs(&ask, part, behind, limit + 1).await?
        }
    };
    let key = |job: &Job| match query.state {
        OpenOrClosed::Open => (job.released_seq, job.id.0),
        OpenOrClosed::Closed => (job.changed_seq, job.id.0),
    };
    jobs.sort_by_key(|job| Reverse(key(job)));
    jobs.retain(|job| behind.is_none_or(|behind| key(job) < behind));
    let has_more = jobs.len() > limit;
    jobs.truncate(limit);
    let last = jobs.last().filter(|_| has_more);
    let next_cursor = last.map(|last| listing.cursor(&key(last))).transpose()?;
    let ids: Vec<_> = jobs.iter().map(|job| job.order).collect();
    let orders = kept::orders(&ask, &ids).await?;
    let shown = |job: &Job| JobDto::of(job, orders.get(&job.order).map(|kept| &kept.order));
    let items = jobs.iter().map(shown).collect();
    Shown::new(&JobPage { items, next_cursor })
}
