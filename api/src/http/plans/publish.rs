use super::dto::PlanDto;
use super::get::publishable;
use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply};
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::command::Command;
use spindlebook_domain::ids::PlanId;
use spindlebook_domain::plan::PublishPlan;
use spindlebook_store::computation;
use uuid::Uuid;

/// Publish a plan
///
/// From now on it is in force: shifts that begin from now on are measured by it, until the next plan is published. A plan
/// that was computed here gets into the ledger with it, and the queues of all cells follow it until somebody edits them.
#[utoipa::path(
    operation_id = "publishPlan",
    tag = "Plans",
    params(("id" = Uuid, Path, description = "The plan")),
    responses((status = 200, description = "The plan as it is now, without its slots", body = PlanDto))
)]
#[post("/v1/plans/{id}/publish")]
pub async fn publish_plan(act: Act<op::PublishPlan>, id: Path<Uuid>) -> Outcome {
    let plan = PlanId(id.into_inner());
    let mut command = Command::from(PublishPlan { plan });
    if act.caller.shop.plans.get(&plan).is_none() {
        let mut session = act.draft.book().store().session().await?;
        if let Some(found) = computation::found(&mut session, act.caller.site, plan).await? {
            command = publishable(&found)?.into_command(plan).into();
        }
    }
    act.draft
        .submit(command, move |accepted| {
            let plan = PlanDto::from(accepted.shop.plans.get(&plan)?);
            Some(Reply::ok(&plan).at(plan.version()))
        })
        .await
}
