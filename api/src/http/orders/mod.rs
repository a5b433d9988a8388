//! Orders and their lines, from entering to shipping.

mod add_line;
mod cancel_line;
mod change;
mod change_line;
mod change_preview;
mod complete_line;
pub mod dto;
mod enter;
mod get;
mod get_line;
pub mod kept;
mod lapse_dto;
mod line_body;
pub mod line_dto;
pub mod list;
mod preview_dto;
mod release;
mod report_material;
mod ship;

use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig) {
    config
        .service(enter::enter_order)
        .service(list::list_orders)
        .service(get::get_order)
        .service(change::change_order)
        .service(release::release_order)
        .service(add_line::add_line)
        .service(get_line::get_line)
        .service(change_preview::get_change_preview)
        .service(change_line::change_line)
        .service(report_material::report_material)
        .service(cancel_line::cancel_line)
        .service(complete_line::complete_line)
        .service(ship::ship_line);
}
