//! The shop itself, its working calendar and its staffed time.

pub mod calendar_dto;
mod change;
pub mod dto;
mod get;
mod get_calendar;
mod get_people;
mod people_dto;
mod set_calendar;
mod set_people;
mod staffed_time;

pub use staffed_time::WindowDto;

use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig) {
    config
        .service(get::get_site)
        .service(change::change_site)
        .service(get_calendar::get_site_calendar)
        .service(set_calendar::set_site_calendar)
        .service(staffed_time::get_staffed_time)
        .service(get_people::get_site_people)
        .service(set_people::set_site_people);
}
