//! The opening statement of day one.

pub mod dto;
mod post;

use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig) {
    config.service(post::state_opening);
}
