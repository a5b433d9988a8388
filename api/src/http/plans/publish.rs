use super::dto::PlanDto;
use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply};
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::ids::PlanId;
use spindlebook_domain::plan::PublishPlan;
use uuid::Uuid;

/// Publish a plan
///
/// From now on it is in force: shifts that begin from now on are measured by it, until the next plan is published.
#[utoipa::path(
    operation_id = "publishPlan",
    tag = "Plans",
    params(("id" = Uuid, Path, description = "The plan")),
    responses((status = 200, description = "The plan as it is now, without its slots", body = PlanDto))
)]
#[post("/v1/plans/{id}/publish")]
pub async fn publish_plan(act: Act<op::PublishPlan>, id: Path<Uuid>) -> Outcome {
    let plan = PlanId(id.into_inner());
    let command = PublishPlan { plan };
    act.draft
        .submit(command, move |accepted| {
            let plan = PlanDto::from(accepted.shop.plans.get(&plan)?);
            Some(Reply::ok(&plan).at(plan.version()))
        })
        .await
}
