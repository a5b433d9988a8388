//! Customers and the quantities that they take.

mod add;
mod change;
pub mod dto;
mod get;
mod list;

use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig) {
    config
        .service(add::add_customer)
        .service(list::list_customers)
        .service(get::get_customer)
        .service(change::change_customer);
}
