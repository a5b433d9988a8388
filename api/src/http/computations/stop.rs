use super::dto::ComputationDto;
use super::get::unknown;
use crate::auth::{Caller, op};
use crate::book::Book;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::post;
use actix_web::web::{Data, Path};
use spindlebook_domain::ids::PlanId;
use spindlebook_store::computation;
use uuid::Uuid;

/// End a computation early
///
/// With the best plan that it has found so far. One that has ended stays as it is.
#[utoipa::path(
    operation_id = "stopComputation",
    tag = "Plans",
    params(("id" = Uuid, Path, description = "The computation")),
    responses((status = 200, description = "Where it stands", body = ComputationDto))
)]
#[post("/v1/computations/{id}/stop")]
pub async fn stop_computation(
    caller: Caller<op::StopComputation>,
    id: Path<Uuid>,
    book: Data<Book>,
) -> Result<Shown, Problem> {
    let id = PlanId(id.into_inner());
    let mut transaction = book.store().begin().await?;
    computation::ask_to_stop(&mut transaction, caller.site, id).await?;
    let found = computation::find(&mut transaction, caller.site, id).await?;
    transaction.commit().await?;
    Shown::new(&ComputationDto::of(
        &found.ok_or_else(|| unknown(id))?,
        book.now(),
    ))
}
