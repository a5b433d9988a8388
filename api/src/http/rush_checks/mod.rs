//! What one more order would do to all others.

mod check;
pub mod dto;

use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig) {
    config.service(check::check_rush);
}
