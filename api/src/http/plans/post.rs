use super::dto::{PlanBody, PlanDto};
use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply, new_id};
use actix_web::post;
use spindlebook_domain::ids::PlanId;

/// Post a plan
///
/// It counts for nothing until it is published.
#[utoipa::path(
    operation_id = "postPlan",
    tag = "Plans",
    request_body = PlanBody,
    responses((status = 201, description = "The new plan, without its slots", body = PlanDto))
)]
#[post("/v1/plans")]
pub async fn post_plan(act: Act<op::PostPlan, PlanBody>) -> Outcome {
    let plan = PlanId(new_id());
    let command = act.body.into_command(plan);
    act.draft
        .submit(command, move |accepted| {
            let plan = PlanDto::from(accepted.shop.plans.get(&plan)?);
            Some(Reply::created(format!("/v1/plans/{}", plan.id), &plan).at(plan.version()))
        })
        .await
}
