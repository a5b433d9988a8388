//! Vendors and the days on which they work.

mod add;
mod change;
pub mod dto;
mod get;
mod list;

use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig) {
    config
        .service(add::add_vendor)
        .service(list::list_vendors)
        .service(get::get_vendor)
        .service(change::change_vendor);
}
