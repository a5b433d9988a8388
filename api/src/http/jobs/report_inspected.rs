use super::body::InspectedBody;
use super::dto::JobDto;
use super::shown;
use crate::auth::op;
use crate::http::ask::site_of;
use crate::http::command::{Act, Outcome};
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::ids::JobId;
use uuid::Uuid;

/// Report what the inspector says
///
/// Of pieces that were taken to them: good ones go on.
#[utoipa::path(
    operation_id = "reportInspected",
    tag = "Jobs",
    params(("id" = Uuid, Path, description = "The job")),
    request_body = InspectedBody,
    responses((status = 200, description = "The job as it is now", body = JobDto))
)]
#[post("/v1/jobs/{id}/inspected")]
pub async fn report_inspected(act: Act<op::ReportInspected, InspectedBody>, id: Path<Uuid>) -> Outcome {
    let job = JobId(id.into_inner());
    let zone = site_of(&act.caller.shop)?.zone;
    let command = act.body.into_command(job, zone, act.draft.now())?;
    act.draft
        .occurred_at(Some(command.at))
        .submit(command, move |accepted| shown(accepted, job))
        .await
}
