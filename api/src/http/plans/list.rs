use super::dto::{PlanDto, PlanPage};
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::page::{self, Listing, PageQuery};
use crate::http::parameters::Parameters;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;
use std::cmp::Reverse;

/// List the plans
///
/// The newest first, without their slots.
#[utoipa::path(
    operation_id = "listPlans",
    tag = "Plans",
    params(PageQuery),
    responses((status = 200, description = "A page of plans", body = PlanPage))
)]
#[get("/v1/plans")]
pub async fn list_plans(ask: Ask<op::ListPlans>, query: Parameters<PageQuery>) -> Result<Shown, Problem> {
    let Parameters(PageQuery { limit, cursor }) = query;
    let listing = Listing::of("plans", &());
    let mut plans: Vec<_> = ask.shop.plans.values().collect();
    plans.sort_by_key(|plan| Reverse(plan.posted_seq));
    let after = listing.after::<u64>(cursor.as_deref())?.map(Reverse);
    let (items, next) = listing.page(plans, after.as_ref(), page::limit(limit), |plan| {
        Reverse(plan.posted_seq)
    })?;
    let next_cursor = next;
    let items = items.into_iter().map(PlanDto::from).collect();
    Shown::new(&PlanPage { items, next_cursor })
}
