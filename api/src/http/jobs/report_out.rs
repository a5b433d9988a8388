use super::body::StepOutBody;
use super::dto::JobDto;
use super::shown;
use crate::auth::op;
use crate::http::ask::site_of;
use crate::http::command::{Act, Outcome};
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::ids::JobId;
use uuid::Uuid;

/// Report that pieces went out to a step
///
/// In the house or to a vendor. When they should be back follows from the routing and the calendar of whoever does it.
#[utoipa::path(
    operation_id = "reportStepOut",
    tag = "Jobs",
    params(("id" = Uuid, Path, description = "The job")),
    request_body = StepOutBody,
    responses((status = 200, description = "The job as it is now", body = JobDto))
)]
#[post("/v1/jobs/{id}/steps")]
pub async fn report_step_out(act: Act<op::ReportStepOut, StepOutBody>, id: Path<Uuid>) -> Outcome {
    let job = JobId(id.into_inner());
    let zone = site_of(&act.caller.shop)?.zone;
    let command = act.body.into_command(job, zone, act.draft.now())?;
    act.draft
        .occurred_at(Some(command.at))
        .submit(command, move |accepted| shown(accepted, job))
        .await
}
