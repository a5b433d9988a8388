use super::hours_dto::JobHoursDto;
use crate::auth::op;
use crate::hours::Hours;
use crate::http::ask::Ask;
use crate::http::orders::kept;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;
use actix_web::web::{Data, Path};
use spindlebook_domain::ids::JobId;
use uuid::Uuid;

/// Get the hours of a job
///
/// What was quoted and planned for each machined operation, and what its setups and runs took, with the counts behind it.
/// Of a load that holds several operations, each has the share of the run that its program has of the load's planned
/// time, or of its nests where the routing does not say. What was done for a lot before others were split off stays with it.
#[utoipa::path(
    operation_id = "getJobHours",
    tag = "Hours",
    params(("id" = Uuid, Path, description = "The job")),
    responses((status = 200, description = "The job's hours", body = JobHoursDto))
)]
#[get("/v1/jobs/{id}/hours")]
pub async fn get_job_hours(
    ask: Ask<op::GetJobHours>,
    id: Path<Uuid>,
    hours: Data<Hours>,
) -> Result<Shown, Problem> {
    let job = kept::job(&ask, JobId(id.into_inner())).await?;
    let orders = kept::orders(&ask, &[job.order]).await?;
    let source = ask.hours_source();
    let done = hours.of_job(&source, job.id).await?;
    let order = orders.get(&job.order).map(|kept| &kept.order);
    Shown::new(&JobHoursDto::of(&source, &job, order, &done))
}
