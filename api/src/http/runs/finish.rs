use super::dto::{RunDto, acted};
use crate::auth::op;
use crate::http::ask::site_of;
use crate::http::command::{Act, Outcome, new_id};
use crate::http::late::dto::ParkedActDto;
use crate::http::machines::dto::at_or_now;
use crate::http::pallets::act_dto::WhenBody;
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::floor::FinishRun;
use spindlebook_domain::ids::{HoldId, RunId};
use uuid::Uuid;

/// Record that a run has ended
///
/// The load is cut. If its first piece has to be looked at, it is held from this moment on. The tools' remaining life is
/// less by what the load takes. A forgotten end is told later with its true time.
#[utoipa::path(
    operation_id = "finishRun",
    tag = "Runs",
    params(("id" = Uuid, Path, description = "The run")),
    request_body = WhenBody,
    responses(
        (status = 200, description = "The run after the act", body = RunDto),
        (status = 202, description = "Parked: it waits for what is missing, or for somebody who decides", body = ParkedActDto)
    )
)]
#[post("/v1/runs/{id}/finish")]
pub async fn finish_run(act: Act<op::FinishRun, WhenBody>, id: Path<Uuid>) -> Outcome {
    let run = RunId(id.into_inner());
    let zone = site_of(&act.caller.shop)?.zone;
    let WhenBody {
        at,
        at_local,
        reported,
    } = act.body;
    let at = at_or_now(zone, at, at_local, act.draft.now())?;
    let command = FinishRun {
        run,
        at,
        hold: HoldId(new_id()),
    };
    act.draft
        .occurred_at(Some(at))
        .reported(reported)
        .submit(command, move |accepted| acted(accepted, run))
        .await
}
