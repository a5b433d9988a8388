//! Machine clients: quoting tools, accounting tools, devices that report signals.

mod add;
mod disable;
mod dto;
mod list;
mod show;

use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(add::add_client)
        .service(list::list_clients)
        .service(show::get_client)
        .service(disable::disable_client);
}
