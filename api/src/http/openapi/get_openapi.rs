use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;
use actix_web::web::Data;

/// The document as text, made once.
pub struct DocumentText(pub String);

/// Get the OpenAPI document
#[utoipa::path(
    operation_id = "getOpenapi",
    tag = "Documents",
    responses((status = 200, description = "This document", body = Object, content_type = "application/json",
        example = json!({"openapi": "3.1.0"})))
)]
#[get("/openapi.json")]
pub async fn get_openapi(document: Data<DocumentText>) -> Result<Shown, Problem> {
    Ok(Shown::of_type(
        "application/json",
        document.0.clone().into_bytes(),
    ))
}
