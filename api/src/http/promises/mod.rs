//! When an order could be there that nobody has entered.

mod ask;
pub mod dto;

use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig) {
    config.service(ask::ask_promise);
}
