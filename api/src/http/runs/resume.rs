use super::dto::{RunDto, acted};
use crate::auth::op;
use crate::http::ask::site_of;
use crate::http::command::{Act, Outcome};
use crate::http::late::dto::ParkedActDto;
use crate::http::machines::dto::at_or_now;
use crate::http::pallets::act_dto::WhenBody;
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::floor::ResumeRun;
use spindlebook_domain::ids::RunId;
use uuid::Uuid;

/// Record that a run goes on
///
/// Caution: coming back to a stopped machine, look first: part loose, tool broken, smoke, heat, smell. Follow the
/// machine builder's manual, your local rules and the advice of qualified people.
#[utoipa::path(
    operation_id = "resumeRun",
    tag = "Runs",
    params(("id" = Uuid, Path, description = "The run")),
    request_body = WhenBody,
    responses(
        (status = 200, description = "The run after the act", body = RunDto),
        (status = 202, description = "Parked: it waits for what is missing, or for somebody who decides", body = ParkedActDto)
    )
)]
#[post("/v1/runs/{id}/resume")]
pub async fn resume_run(act: Act<op::ResumeRun, WhenBody>, id: Path<Uuid>) -> Outcome {
    let run = RunId(id.into_inner());
    let zone = site_of(&act.caller.shop)?.zone;
    let WhenBody {
        at,
        at_local,
        reported,
    } = act.body;
    let at = at_or_now(zone, at, at_local, act.draft.now())?;
    let command = ResumeRun { run, at };
    act.draft
        .occurred_at(Some(at))
        .reported(reported)
        .submit(command, move |accepted| acted(accepted, run))
        .await
}
