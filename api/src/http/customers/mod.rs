//! Customers and the quantities that they take.

mod add;
mod change;
pub mod dto;
mod get;
mod get_inspection_rules;
mod inspection_dto;
mod list;
mod set_inspection_rules;

use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig) {
    config
        .service(add::add_customer)
        .service(list::list_customers)
        .service(get::get_customer)
        .service(change::change_customer)
        .service(get_inspection_rules::get_inspection_rules)
        .service(set_inspection_rules::set_inspection_rules);
}
