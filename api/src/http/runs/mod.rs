//! Runs: one passage of a load through a spindle.

mod abort;
pub mod dto;
mod finish;
mod get;
mod pause;
mod resume;
mod start;

use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig) {
    config
        .service(start::start_run)
        .service(get::get_run)
        .service(pause::pause_run)
        .service(resume::resume_run)
        .service(finish::finish_run)
        .service(abort::abort_run);
}
