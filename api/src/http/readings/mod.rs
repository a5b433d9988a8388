//! What a control's own counters stood at.

pub mod dto;
mod list;
mod receive;

use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig) {
    config
        .service(receive::receive_readings)
        .service(list::list_readings);
}
