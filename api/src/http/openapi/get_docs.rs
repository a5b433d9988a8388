use crate::problem::{Code, Problem};
use actix_web::http::header;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, get};
use std::sync::Arc;
use utoipa_swagger_ui::{Config, serve};

/// What the page shows. Its files are in the binary; it asks no other host for anything.
pub struct DocsConfig(Arc<Config<'static>>);

impl Default for DocsConfig {
    fn default() -> Self {
        let config = Config::from("/openapi.json")
            .try_it_out_enabled(true)
            .validator_url("none");
        Self(Arc::new(config))
    }
}

/// Show the OpenAPI document as a page
#[utoipa::path(
    operation_id = "getDocs",
    tag = "Documents",
    responses((status = 308, description = "The page is at /docs/"))
)]
#[get("/docs")]
pub async fn get_docs() -> HttpResponse {
    HttpResponse::PermanentRedirect()
        .insert_header((header::LOCATION, "/docs/"))
        .finish()
}

/// The page and what it is made of. No operation: for browsers only.
pub async fn docs_file(file: Path<String>, config: Data<DocsConfig>) -> Result<HttpResponse, Problem> {
    let found = serve(&file, Arc::clone(&config.0)).map_err(|error| Problem::fault(&error))?;
    match found {
        Some(file) => Ok(HttpResponse::Ok()
            .content_type(file.content_type)
            .body(file.bytes.into_owned())),
        None => Err(Problem::new(
            Code::RouteUnknown,
            "There is no such file; the page is at /docs/.",
        )),
    }
}
