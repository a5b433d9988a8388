use super::dto::JobDto;
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::orders::kept;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;
use actix_web::web::Path;
use spindlebook_domain::ids::JobId;
use uuid::Uuid;

/// Get a job
///
/// Where its pieces are, operation by operation, and what is still to be run. A closed one, too.
#[utoipa::path(
    operation_id = "getJob",
    tag = "Jobs",
    params(("id" = Uuid, Path, description = "The job")),
    responses((status = 200, description = "The job", body = JobDto))
)]
#[get("/v1/jobs/{id}")]
pub async fn get_job(ask: Ask<op::GetJob>, id: Path<Uuid>) -> Result<Shown, Problem> {
    let job = kept::job(&ask, JobId(id.into_inner())).await?;
    let orders = kept::orders(&ask, &[job.order]).await?;
    let shown = JobDto::of(&job, orders.get(&job.order).map(|kept| &kept.order));
    Ok(Shown::new(&shown)?.at(shown.version))
}
