//! Plans: which spindle is meant to cut when.

pub mod answer;
pub mod asked_line;
mod computing;
pub mod dto;
mod get;
mod get_current;
mod list;
mod post;
mod publish;
pub mod schedule_dto;

use utoipa_actix_web::service_config::ServiceConfig;

/// `current` stands before `{id}`, which would take it for an id.
pub fn routes(config: &mut ServiceConfig) {
    config
        .service(post::post_plan)
        .service(list::list_plans)
        .service(get_current::get_current_plan)
        .service(get::get_plan)
        .service(publish::publish_plan);
}
