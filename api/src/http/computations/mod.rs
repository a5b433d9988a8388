//! Plans that are being computed: how far they are, and ending them early.

pub mod dto;
mod get;
mod list;
mod stop;

use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig) {
    config
        .service(list::list_computations)
        .service(get::get_computation)
        .service(stop::stop_computation);
}
