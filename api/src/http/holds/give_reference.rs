use super::decided;
use super::disposition_dto::{DisposedDto, ReferenceBody};
use crate::auth::op;
use crate::http::ask::site_of;
use crate::http::command::{Act, Outcome};
use crate::http::machines::dto::at_or_now;
use crate::http::noted::Noted;
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::ids::HoldId;
use spindlebook_domain::inspection::GiveReference;
use uuid::Uuid;

/// Enter the customer's reference
///
/// What was proposed about the hold is decided with it. Whoever talks to the customer enters it; who proposed stays in the
/// record as the one who decided.
#[utoipa::path(
    operation_id = "giveHoldReference",
    tag = "Holds",
    params(("id" = Uuid, Path, description = "The hold")),
    request_body = ReferenceBody,
    responses((status = 200, description = "What is decided now", body = DisposedDto))
)]
#[post("/v1/holds/{id}/reference")]
pub async fn give_hold_reference(act: Act<op::GiveHoldReference, ReferenceBody>, id: Path<Uuid>) -> Outcome {
    let zone = site_of(&act.caller.shop)?.zone;
    let ReferenceBody {
        reference,
        at,
        at_local,
    } = act.body;
    let at = at_or_now(zone, at, at_local, act.draft.now())?;
    let mut noted = Noted::default();
    let command = GiveReference {
        hold: HoldId(id.into_inner()),
        reference: noted.add(reference),
        at,
    };
    act.draft
        .occurred_at(Some(at))
        .with_private(noted.private())
        .submit(command, decided)
        .await
}
