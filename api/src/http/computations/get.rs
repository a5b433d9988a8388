use super::dto::ComputationDto;
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::shown::Shown;
use crate::problem::{Code, Problem};
use actix_web::get;
use actix_web::web::Path;
use spindlebook_domain::ids::PlanId;
use spindlebook_store::computation;
use uuid::Uuid;

/// Get how far a plan is
#[utoipa::path(
    operation_id = "getComputation",
    tag = "Plans",
    params(("id" = Uuid, Path, description = "The computation; its plan has the same id")),
    responses((status = 200, description = "Where it stands", body = ComputationDto))
)]
#[get("/v1/computations/{id}")]
pub async fn get_computation(ask: Ask<op::GetComputation>, id: Path<Uuid>) -> Result<Shown, Problem> {
    let id = PlanId(id.into_inner());
    let mut session = ask.book.store().session().await?;
    let found = computation::find(&mut session, ask.caller.site, id).await?;
    let found = found.ok_or_else(|| unknown(id))?;
    Shown::new(&ComputationDto::of(&found, ask.book.now()))
}

pub fn unknown(id: PlanId) -> Problem {
    let detail = format!("There is no computation {id}; only the newest are kept.");
    Problem::new(Code::NotFound, detail)
}
