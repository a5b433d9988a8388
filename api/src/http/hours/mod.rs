//! Planned and realised spindle hours, and the entries behind every figure.

pub mod csv;
pub mod dto;
pub mod figures_dto;
mod get;
pub mod iso_dto;
mod list_daily;
mod list_entries;
pub mod stretch_dto;

use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig) {
    config
        .service(list_daily::list_daily_reports)
        .service(list_entries::list_hours_entries)
        .service(get::get_hours);
}
