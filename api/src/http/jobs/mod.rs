//! Jobs: released lines and lots of them, their pieces, and the steps outside.

mod add_blanks;
mod body;
pub mod dto;
mod get;
mod get_hours;
mod hours_dto;
mod inspection_dto;
mod list;
mod list_inspections;
mod list_steps;
mod report_back;
mod report_inspected;
mod report_out;
mod reverse_inspection;
mod split;
mod step_dto;

use self::dto::JobDto;
use super::command::{Accepted, Reply};
use spindlebook_domain::ids::JobId;
use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig) {
    config
        .service(list::list_jobs)
        .service(get::get_job)
        .service(get_hours::get_job_hours)
        .service(split::split_job)
        .service(add_blanks::add_blanks)
        .service(report_out::report_step_out)
        .service(report_back::report_step_back)
        .service(report_inspected::report_inspected)
        .service(list_inspections::list_inspections)
        .service(reverse_inspection::reverse_inspection)
        .service(list_steps::list_steps);
}

/// The job after an act on it.
fn shown(accepted: &Accepted<'_>, job: JobId) -> Option<Reply> {
    let job = accepted.shop.jobs.get(&job)?;
    let shown = JobDto::of(job, accepted.shop.orders.get(&job.order));
    let version = shown.version;
    Some(Reply::ok(&shown).at(version))
}
