//! Pallets: each stands at one place of its cell.

mod add;
mod change;
pub mod dto;
mod get;
mod list;

use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig) {
    config
        .service(add::add_pallet)
        .service(list::list_pallets)
        .service(get::get_pallet)
        .service(change::change_pallet);
}
