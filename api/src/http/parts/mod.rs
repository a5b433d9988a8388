//! Parts, their revisions and routings.

mod add;
mod add_revision;
mod change;
pub mod dto;
mod get;
mod get_routing;
mod list;
mod machining_dto;
pub mod routing_dto;
mod set_routing;

use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig) {
    config
        .service(add::add_part)
        .service(list::list_parts)
        .service(get::get_part)
        .service(change::change_part)
        .service(add_revision::add_revision)
        .service(get_routing::get_routing)
        .service(set_routing::set_routing);
}
