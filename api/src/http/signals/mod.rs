//! What machines tell of themselves.

pub mod dto;
mod receive;

use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig) {
    config.service(receive::receive_signals);
}
