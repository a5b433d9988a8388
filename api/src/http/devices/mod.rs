//! Enrolled tablets: each has a key of its own and signs in like a machine client.

mod add;
mod disable;
mod dto;
mod get;
mod list;
mod list_people;

use crate::problem::Problem;
use spindlebook_domain::access::Principal;
use spindlebook_domain::device::DeviceRefusal;
use spindlebook_domain::ids::PrincipalId;
use spindlebook_domain::refusal::Refusal;
use spindlebook_domain::role::Role;
use spindlebook_domain::shop::Shop;
use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(list_people::list_device_people)
        .service(add::add_device)
        .service(list::list_devices)
        .service(get::get_device)
        .service(disable::disable_device);
}

fn find(shop: &Shop, id: PrincipalId) -> Result<&Principal, Problem> {
    let device = shop.principals.get(&id).filter(|principal| is_device(principal));
    device.ok_or_else(|| Problem::from(Refusal::from(DeviceRefusal::Unknown { device: id })))
}

fn is_device(principal: &Principal) -> bool {
    principal.roles.contains(&Role::Device)
}
