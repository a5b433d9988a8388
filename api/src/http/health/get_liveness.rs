use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;
use serde::Serialize;
use utoipa::ToSchema;

#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"status": "live"}))]
pub struct Liveness {
    #[schema(max_length = 4)]
    pub status: &'static str,
}

/// Say whether the service lives
///
/// Looks at nothing else: a database that is away is no reason to start the service anew.
#[utoipa::path(
    operation_id = "getLiveness",
    tag = "Health",
    responses((status = 200, description = "It lives", body = Liveness))
)]
#[get("/health/live")]
pub async fn get_liveness() -> Result<Shown, Problem> {
    Shown::new(&Liveness { status: "live" })
}
