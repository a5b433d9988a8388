//! What a tablet kept while it reached nobody: a delivery of acts, each answered as its own operation answers it.

mod deliver;
mod dto;
mod judge;
pub mod within;

use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(deliver::deliver_acts);
}
