use super::dto::ProblemCodeDto;
use crate::http::shown::Shown;
use crate::problem::{Code, Problem, table};
use actix_web::get;
use actix_web::web::Path;

/// Say what a problem code means
#[utoipa::path(
    operation_id = "getProblem",
    tag = "Problems",
    params(("code" = String, Path, max_length = 80, pattern = r"^[a-z-]+\.[a-z0-9-]+$", description = "The code",
        example = "machine.already-down")),
    responses((status = 200, description = "What it means", body = ProblemCodeDto))
)]
#[get("/problems/{code}")]
pub async fn get_problem(code: Path<String>) -> Result<Shown, Problem> {
    let row = table().into_iter().find(|row| row.code == code.as_str());
    let unknown = || {
        Problem::new(
            Code::NotFound,
            "There is no such problem code; GET /problems lists all.",
        )
    };
    Shown::new(&ProblemCodeDto::from(row.ok_or_else(unknown)?))
}
