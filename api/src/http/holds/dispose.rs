use super::decided;
use super::disposition_dto::{DisposedDto, DispositionBody};
use crate::auth::op;
use crate::http::ask::site_of;
use crate::http::command::{Act, Outcome};
use crate::http::machines::dto::at_or_now;
use crate::http::noted::Noted;
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::ids::HoldId;
use uuid::Uuid;

/// Decide about held pieces
///
/// All of them or some. Pieces that are still clamped count as decided when they are taken off; those in inspection move at
/// once. Accepting and using as it is let them pass; where a first piece was wanted, accepting also opens the rest of the
/// operation, at this revision, from this setup, on this machine; after a formal first article, from every setup.
/// Accepting, reworking and scrapping are an inspector's; a planner also decides to use as it is or to return. Without the
/// customer's reference where they have to agree, use as it is stays proposed, and the load stays held.
#[utoipa::path(
    operation_id = "disposeHold",
    tag = "Holds",
    params(("id" = Uuid, Path, description = "The hold")),
    request_body = DispositionBody,
    responses((status = 200, description = "What was decided or proposed", body = DisposedDto))
)]
#[post("/v1/holds/{id}/disposition")]
pub async fn dispose_hold(act: Act<op::DisposeHold, DispositionBody>, id: Path<Uuid>) -> Outcome {
    let zone = site_of(&act.caller.shop)?.zone;
    let body = act.body;
    let at = at_or_now(zone, body.at, body.at_local, act.draft.now())?;
    let mut noted = Noted::default();
    let command = body.into_command(HoldId(id.into_inner()), at, &mut noted);
    act.draft
        .occurred_at(Some(at))
        .with_private(noted.private())
        .submit(command, decided)
        .await
}
