use super::dto::{AbortBody, RunDto, acted};
use crate::auth::op;
use crate::http::ask::site_of;
use crate::http::command::{Act, Outcome};
use crate::http::late::dto::ParkedActDto;
use crate::http::machines::dto::at_or_now;
use crate::http::noted::Noted;
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::floor::AbortRun;
use spindlebook_domain::ids::RunId;
use uuid::Uuid;

/// Record that a run was broken off
///
/// The load can be started again or taken off; nothing of it counts as good before somebody has looked.
#[utoipa::path(
    operation_id = "abortRun",
    tag = "Runs",
    params(("id" = Uuid, Path, description = "The run")),
    request_body = AbortBody,
    responses(
        (status = 200, description = "The run after the act", body = RunDto),
        (status = 202, description = "Parked: it waits for what is missing, or for somebody who decides", body = ParkedActDto)
    )
)]
#[post("/v1/runs/{id}/abort")]
pub async fn abort_run(act: Act<op::AbortRun, AbortBody>, id: Path<Uuid>) -> Outcome {
    let run = RunId(id.into_inner());
    let zone = site_of(&act.caller.shop)?.zone;
    let AbortBody {
        reason,
        at,
        at_local,
        note,
        reported,
    } = act.body;
    let at = at_or_now(zone, at, at_local, act.draft.now())?;
    let mut noted = Noted::default();
    let note = note.map(|note| noted.add(note));
    let command = AbortRun {
        run,
        at,
        reason,
        note,
    };
    act.draft
        .occurred_at(Some(at))
        .reported(reported)
        .with_private(noted.private())
        .submit(command, move |accepted| acted(accepted, run))
        .await
}
