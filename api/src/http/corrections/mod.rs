//! Putting an entry right by another one.

mod dto;
mod post;

use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig) {
    config.service(post::correct_entry);
}
