//! The HTTP edge: one folder a resource, one file an operation.

pub mod ask;
pub mod body;
pub mod command;
pub mod find;
pub mod instant;
pub mod limits;
pub mod local_time;
mod noted;
pub mod page;
pub mod parameters;
pub mod question;
pub mod shown;
pub mod size;
pub mod text;
pub mod whole;
pub mod window;

pub mod acts;
pub mod badges;
pub mod cells;
pub mod clients;
pub mod computations;
pub mod corrections;
pub mod customers;
pub mod devices;
pub mod fixtures;
pub mod handover;
pub mod health;
pub mod holds;
pub mod hours;
pub mod jobs;
pub mod late;
pub mod ledger;
pub mod machines;
pub mod metrics;
pub mod notes;
pub mod oauth;
pub mod openapi;
pub mod opening;
pub mod orders;
pub mod pallets;
pub mod parts;
pub mod plans;
pub mod problems;
pub mod promises;
pub mod readings;
pub mod runs;
pub mod rush_checks;
pub mod session;
pub mod signals;
pub mod site;
pub mod users;
pub mod vendors;

use utoipa_actix_web::service_config::ServiceConfig;

/// Every route of the service, resource by resource. They are tried in this order: what machines ask again and again
/// comes first.
pub fn routes(config: &mut ServiceConfig<'_>) {
    signals::routes(config);
    readings::routes(config);
    session::routes(config);
    oauth::routes(config);
    users::routes(config);
    clients::routes(config);
    devices::routes(config);
    badges::routes(config);
    acts::routes(config);
    site::routes(config);
    cells::routes(config);
    handover::routes(config);
    machines::routes(config);
    opening::routes(config);
    pallets::routes(config);
    runs::routes(config);
    holds::routes(config);
    late::routes(config);
    fixtures::routes(config);
    parts::routes(config);
    corrections::routes(config);
    customers::routes(config);
    vendors::routes(config);
    orders::routes(config);
    jobs::routes(config);
    plans::routes(config);
    computations::routes(config);
    rush_checks::routes(config);
    promises::routes(config);
    hours::routes(config);
    ledger::routes(config);
    notes::routes(config);
    health::routes(config);
    metrics::routes(config);
    problems::routes(config);
    openapi::own_routes(config);
}
