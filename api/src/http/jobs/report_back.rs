use super::body::StepBackBody;
use super::dto::JobDto;
use super::shown;
use crate::auth::op;
use crate::http::ask::site_of;
use crate::http::command::{Act, Outcome};
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::ids::JobId;
use uuid::Uuid;

/// Report that pieces came back from a step
///
/// In parts as they come: good ones go on, damaged ones to the inspector, missing ones are lost.
#[utoipa::path(
    operation_id = "reportStepBack",
    tag = "Jobs",
    params(("id" = Uuid, Path, description = "The job")),
    request_body = StepBackBody,
    responses((status = 200, description = "The job as it is now", body = JobDto))
)]
#[post("/v1/jobs/{id}/steps/back")]
pub async fn report_step_back(act: Act<op::ReportStepBack, StepBackBody>, id: Path<Uuid>) -> Outcome {
    let job = JobId(id.into_inner());
    let zone = site_of(&act.caller.shop)?.zone;
    let command = act.body.into_command(job, zone, act.draft.now())?;
    act.draft
        .occurred_at(Some(command.at))
        .submit(command, move |accepted| shown(accepted, job))
        .await
}
