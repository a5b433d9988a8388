//! Whether the service lives, and whether it can do its work.

mod get_liveness;
mod get_readiness;

pub use get_readiness::show_details;

use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(get_liveness::get_liveness)
        .service(get_readiness::get_readiness);
}
