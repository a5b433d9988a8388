//! Figures about the service itself, for Prometheus.

mod get;
mod measure;

pub use get::{MetricsSource, render};
pub use measure::measure;

use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(get::get_metrics);
}
