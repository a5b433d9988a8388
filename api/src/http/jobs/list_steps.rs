use super::step_dto::{OpenStepDto, StepDto, StepPage};
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::page::{self, Limit, Listing};
use crate::http::parameters::Parameters;
use crate::http::shown::Shown;
use crate::http::text;
use crate::problem::Problem;
use actix_web::get;
use serde::Deserialize;
use spindlebook_domain::job::{Job, StepOut};
use spindlebook_domain::local_time::local_date;
use spindlebook_domain::order::job_name;
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum OutOrOverdue {
    #[default]
    Out,
    Overdue,
}

#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct StepsQuery {
    /// Without it, all that are out.
    #[param(inline)]
    #[serde(default)]
    pub state: OutOrOverdue,
    /// Only those at this vendor.
    pub vendor: Option<Uuid>,
    /// How many items at most: 50 without it, 200 at most.
    pub limit: Option<Limit>,
    /// `next_cursor` of the page before.
    #[param(value_type = Option<text::Cursor>)]
    pub cursor: Option<String>,
}

struct Open<'a> {
    job: &'a Job,
    operation: u16,
    step: &'a StepOut,
}

/// List the steps that are not back
///
/// The one that should be back first comes first; those without a day come last.
#[utoipa::path(
    operation_id = "listSteps",
    tag = "Jobs",
    params(StepsQuery),
    responses((status = 200, description = "A page of steps", body = StepPage))
)]
#[get("/v1/steps")]
pub async fn list_steps(ask: Ask<op::ListSteps>, query: Parameters<StepsQuery>) -> Result<Shown, Problem> {
    let Parameters(query) = query;
    let today = local_date(ask.site()?.zone, ask.book.now());
    let listing = Listing::of("steps", &(query.state, query.vendor));
    let jobs = ask.shop.jobs.values().filter(|job| job.is_open());
    let all = jobs.flat_map(|job| {
        let steps = job.steps();
        steps.map(move |(operation, step)| Open { job, operation, step })
    });
    let is_wanted = |open: &Open<'_>| {
        open.step.still_out() > 0
            && (query.state == OutOrOverdue::Out || open.step.is_overdue_on(today))
            && query
                .vendor
                .is_none_or(|vendor| open.step.vendor.is_some_and(|at| at.0 == vendor))
    };
    let mut open: Vec<_> = all.filter(is_wanted).collect();
    let key = |open: &Open<'_>| {
        (
            open.step.due.is_none(),
            open.step.due,
            open.job.id,
            open.step.step,
        )
    };
    open.sort_by_key(key);
    let after = listing.after(query.cursor.as_deref())?;
    let (items, next_cursor) = listing.page(&open, after.as_ref(), page::limit(query.limit), key)?;
    let shown = |open: &Open<'_>| {
        let order = ask.shop.orders.get(&open.job.order);
        OpenStepDto {
            job: open.job.id,
            job_name: order.map_or_else(|| open.job.id.to_string(), |order| job_name(order, open.job)),
            operation: u32::from(open.operation),
            step: StepDto::from(open.step),
            overdue: open.step.is_overdue_on(today),
        }
    };
    let items = items.into_iter().map(shown).collect();
    Shown::new(&StepPage { items, next_cursor })
}
