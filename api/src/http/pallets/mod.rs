//! Pallets: each stands at one place of its cell.

pub mod act_dto;
pub mod acted;
mod add;
mod change;
pub mod dto;
mod finish_setup;
mod get;
mod hold;
mod list;
mod load;
pub mod load_dto;
mod mount;
mod move_pallet;
mod unload;
mod unmount;

use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig) {
    config
        .service(add::add_pallet)
        .service(list::list_pallets)
        .service(get::get_pallet)
        .service(change::change_pallet)
        .service(mount::mount_fixture)
        .service(finish_setup::finish_setup)
        .service(unmount::unmount_fixture)
        .service(load::load_pallet)
        .service(unload::unload_pallet)
        .service(move_pallet::move_pallet)
        .service(hold::hold_pallet);
}
