use super::dto::ProblemCodes;
use crate::http::shown::Shown;
use crate::problem::{Problem, table};
use actix_web::get;

/// List the problem codes
#[utoipa::path(
    operation_id = "listProblems",
    tag = "Problems",
    responses((status = 200, description = "Every code", body = ProblemCodes))
)]
#[get("/problems")]
pub async fn list_problems() -> Result<Shown, Problem> {
    Shown::new(&ProblemCodes {
        items: table().into_iter().map(Into::into).collect(),
    })
}
