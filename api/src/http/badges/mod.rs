//! Badging in on a tablet by name and PIN, and dropping out; PINs themselves.

mod begin;
mod dto;
mod end;
mod get_pin;
mod set_own_pin;
mod set_pin;
mod unlock_pin;

use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(begin::begin_badge)
        .service(end::end_badge)
        .service(set_pin::set_user_pin)
        .service(get_pin::get_user_pin)
        .service(unlock_pin::unlock_user_pin)
        .service(set_own_pin::set_own_pin);
}
