//! Machines: each has one spindle.

mod add;
mod change;
pub mod dto;
mod get;
mod get_tools;
mod list;
mod set_down;
mod set_tools;
mod set_up;
mod tools_dto;

use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig) {
    config
        .service(add::add_machine)
        .service(list::list_machines)
        .service(get::get_machine)
        .service(change::change_machine)
        .service(set_down::set_machine_down)
        .service(set_up::set_machine_up)
        .service(get_tools::get_machine_tools)
        .service(set_tools::set_machine_tools);
}
