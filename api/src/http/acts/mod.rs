//! What a tablet kept while it reached nobody: a delivery of acts, each answered as its own operation answers it.

mod aside;
mod deliver;
mod dto;
mod judge;
mod list_set_aside;
mod place;
pub mod within;

use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(deliver::deliver_acts)
        .service(list_set_aside::list_set_aside_acts)
        .service(place::place_set_aside_act);
}
