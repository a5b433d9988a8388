use super::body::BlanksBody;
use super::dto::JobDto;
use super::shown;
use crate::auth::op;
use crate::http::command::{Act, Outcome};
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::ids::JobId;
use uuid::Uuid;

/// Give more blanks out for a job
///
/// For what was scrapped, or for a quantity that was raised. One lot has one certificate: blanks of another heat are for a
/// lot of their own.
#[utoipa::path(
    operation_id = "addBlanks",
    tag = "Jobs",
    params(("id" = Uuid, Path, description = "The job")),
    request_body = BlanksBody,
    responses((status = 200, description = "The job as it is now", body = JobDto))
)]
#[post("/v1/jobs/{id}/blanks")]
pub async fn add_blanks(act: Act<op::AddBlanks, BlanksBody>, id: Path<Uuid>) -> Outcome {
    let job = JobId(id.into_inner());
    let command = act.body.into_command(job);
    act.draft
        .submit(command, move |accepted| shown(accepted, job))
        .await
}
