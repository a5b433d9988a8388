//! Acts that are told of afterwards: those that wait, and what happened against a rule.

pub mod dto;
mod get;
mod list;
mod list_deviations;
mod settle;

use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig) {
    config
        .service(list::list_parked_acts)
        .service(get::get_parked_act)
        .service(settle::settle_parked_act)
        .service(list_deviations::list_deviations);
}
