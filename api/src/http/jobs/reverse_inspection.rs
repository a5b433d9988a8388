use super::dto::JobDto;
use super::inspection_dto::ReversalBody;
use super::shown;
use crate::auth::op;
use crate::http::ask::site_of;
use crate::http::command::{Act, Outcome};
use crate::http::machines::dto::at_or_now;
use crate::http::noted::Noted;
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::ids::{JobId, Seq};
use spindlebook_domain::inspection::ReverseInspection;
use uuid::Uuid;

/// Take a result back that was wrong
///
/// A new entry; the wrong one stays. Pieces that are still clamped are held again, others lie in inspection again, and what
/// the result had approved is approved no more. Refused where pieces have moved on, with what depends on them.
#[utoipa::path(
    operation_id = "reverseInspection",
    tag = "Jobs",
    params(("id" = Uuid, Path, description = "The job"), ("seq" = u64, Path, description = "The entry that gave the result")),
    request_body = ReversalBody,
    responses((status = 200, description = "The job as it is now", body = JobDto))
)]
#[post("/v1/jobs/{id}/inspections/{seq}/reversal")]
pub async fn reverse_inspection(
    act: Act<op::ReverseInspection, ReversalBody>,
    path: Path<(Uuid, Seq)>,
) -> Outcome {
    let (job, entry) = path.into_inner();
    let (job, entry) = (JobId(job), Some(entry));
    let zone = site_of(&act.caller.shop)?.zone;
    let ReversalBody { note, at, at_local } = act.body;
    let at = at_or_now(zone, at, at_local, act.draft.now())?;
    let mut noted = Noted::default();
    let note = note.map(|note| noted.add(note));
    let command = ReverseInspection { job, entry, note, at };
    act.draft
        .occurred_at(Some(at))
        .with_private(noted.private())
        .submit(command, move |accepted| shown(accepted, job))
        .await
}
