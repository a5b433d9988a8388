//! Cells: machines fed by one pool of pallets, or a standalone machine.

mod add;
mod change;
mod clear_calendar;
pub mod dto;
mod get;
mod get_calendar;
mod get_cuts_until;
mod get_night_fill;
mod get_pool;
mod get_queue;
mod list;
pub mod night_dto;
pub mod pool_dto;
mod set_calendar;
mod set_queue;

use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig) {
    config
        .service(add::add_cell)
        .service(list::list_cells)
        .service(get::get_cell)
        .service(change::change_cell)
        .service(get_calendar::get_cell_calendar)
        .service(set_calendar::set_cell_calendar)
        .service(clear_calendar::clear_cell_calendar)
        .service(get_pool::get_cell_pool)
        .service(get_queue::get_cell_queue)
        .service(set_queue::set_cell_queue)
        .service(get_cuts_until::get_cuts_until)
        .service(get_night_fill::get_night_fill);
}
