use super::dto::PlanWithSlotsDto;
use super::get::with_slots;
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::shown::Shown;
use crate::problem::{Code, Problem};
use actix_web::get;

/// Get the plan in force
///
/// The one that was published last, with its slots.
#[utoipa::path(
    operation_id = "getCurrentPlan",
    tag = "Plans",
    responses((status = 200, description = "The plan and its slots", body = PlanWithSlotsDto))
)]
#[get("/v1/plans/current")]
pub async fn get_current_plan(ask: Ask<op::GetCurrentPlan>) -> Result<Shown, Problem> {
    let current = ask.shop.current_plan.and_then(|plan| ask.shop.plans.get(&plan));
    let none = || {
        Problem::new(
            Code::NotFound,
            "No plan has been published yet; POST /v1/plans/{id}/publish does.",
        )
    };
    with_slots(&ask, current.ok_or_else(none)?).await
}
