//! The OpenAPI document: made from the routes as they are mounted, so that a mounted route is a documented one.

mod complete;
mod get_docs;
mod get_openapi;
mod shared;

pub use get_docs::{DocsConfig, docs_file};
pub use get_openapi::DocumentText;

use super::routes;
use crate::auth::document::write_roles;
use actix_web::App;
use serde_json::Value;
use utoipa::openapi::{Info, License, OpenApi, OpenApiBuilder, Server};
use utoipa_actix_web::AppExt;
use utoipa_actix_web::service_config::ServiceConfig;

/// Rises by the rules of semantic versioning; within 1 nothing is taken away.
const API_VERSION: &str = "1.0.0";

const DESCRIPTION: &str = "Planned and realised spindle hours of a job shop's machining cells. What holds for all \
    operations (signing in, keys, versions, pages, problems) stands in docs/http-api.md.";

pub fn own_routes(config: &mut ServiceConfig<'_>) {
    config
        .service(get_openapi::get_openapi)
        .service(get_docs::get_docs);
}

/// The document as it is served, printed and checked in.
pub fn document() -> Value {
    let mut document = serde_json::to_value(mounted()).unwrap_or_default();
    complete::complete(&mut document);
    document
}

/// The routes with what their handlers say of themselves, and with their roles.
pub fn mounted() -> OpenApi {
    let info = Info::builder()
        .title("Spindlebook")
        .version(API_VERSION)
        .description(Some(DESCRIPTION))
        .license(Some(
            License::builder().name("MIT").identifier(Some("MIT")).build(),
        ))
        .build();
    let empty = OpenApiBuilder::new()
        .info(info)
        .servers(Some([Server::new("/")]))
        .build();
    let (_, mut document) = App::new()
        .into_utoipa_app()
        .openapi(empty)
        .configure(routes)
        .split_for_parts();
    for id in write_roles(&mut document) {
        tracing::error!("the operation {id} has no row in the role table");
    }
    document
}
