//! Holds: loads that wait for somebody who decides.

mod dispose;
pub mod dto;
mod list;

use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig) {
    config.service(list::list_holds).service(dispose::dispose_hold);
}
