use super::dto::{ComputationDto, ComputationList};
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;
use spindlebook_store::computation;

const NEWEST: u32 = 50;

/// List the newest computations
///
/// Of plans, the newest first.
#[utoipa::path(
    operation_id = "listComputations",
    tag = "Plans",
    responses((status = 200, description = "At most 50", body = ComputationList))
)]
#[get("/v1/computations")]
pub async fn list_computations(ask: Ask<op::ListComputations>) -> Result<Shown, Problem> {
    let mut session = ask.book.store().session().await?;
    let now = ask.book.now();
    let newest = computation::newest(&mut session, ask.caller.site, NEWEST).await?;
    let items = newest.iter().map(|one| ComputationDto::of(one, now)).collect();
    Shown::new(&ComputationList { items })
}
