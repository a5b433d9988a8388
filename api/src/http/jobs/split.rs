use super::body::SplitBody;
use super::dto::JobDto;
use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply, new_id};
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::ids::JobId;
use uuid::Uuid;

/// Split a lot off a job
///
/// Waiting pieces go with it, with the way that they have come and the material's certificate. No piece is lost or won.
#[utoipa::path(
    operation_id = "splitJob",
    tag = "Jobs",
    params(("id" = Uuid, Path, description = "The job")),
    request_body = SplitBody,
    responses((status = 201, description = "The new lot", body = JobDto))
)]
#[post("/v1/jobs/{id}/split")]
pub async fn split_job(act: Act<op::SplitJob, SplitBody>, id: Path<Uuid>) -> Outcome {
    let into = JobId(new_id());
    let command = act.body.into_command(JobId(id.into_inner()), into);
    act.draft
        .submit(command, move |accepted| {
            let lot = accepted.shop.jobs.get(&into)?;
            let shown = JobDto::of(lot, accepted.shop.orders.get(&lot.order));
            Some(Reply::created(format!("/v1/jobs/{into}"), &shown).at(shown.version))
        })
        .await
}
