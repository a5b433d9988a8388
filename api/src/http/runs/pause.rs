use super::dto::{PauseBody, RunDto, acted};
use crate::auth::op;
use crate::http::ask::site_of;
use crate::http::command::{Act, Outcome};
use crate::http::late::dto::ParkedActDto;
use crate::http::machines::dto::at_or_now;
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::floor::PauseRun;
use spindlebook_domain::ids::RunId;
use uuid::Uuid;

/// Record that a run was stopped
///
/// The spindle stands, for the reason given, until the run goes on or is aborted. Stops are no cycle time.
#[utoipa::path(
    operation_id = "pauseRun",
    tag = "Runs",
    params(("id" = Uuid, Path, description = "The run")),
    request_body = PauseBody,
    responses(
        (status = 200, description = "The run after the act", body = RunDto),
        (status = 202, description = "Parked: it waits for what is missing, or for somebody who decides", body = ParkedActDto)
    )
)]
#[post("/v1/runs/{id}/pause")]
pub async fn pause_run(act: Act<op::PauseRun, PauseBody>, id: Path<Uuid>) -> Outcome {
    let run = RunId(id.into_inner());
    let zone = site_of(&act.caller.shop)?.zone;
    let PauseBody {
        reason,
        at,
        at_local,
        reported,
    } = act.body;
    let at = at_or_now(zone, at, at_local, act.draft.now())?;
    let command = PauseRun { run, at, reason };
    act.draft
        .occurred_at(Some(at))
        .reported(reported)
        .submit(command, move |accepted| acted(accepted, run))
        .await
}
