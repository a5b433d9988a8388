//! What each problem code means: the place that the `type` of a problem points to.

mod dto;
mod get;
mod list;

use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(list::list_problems).service(get::get_problem);
}
