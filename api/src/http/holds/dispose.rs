use super::dto::{DisposedDto, DispositionBody};
use crate::auth::op;
use crate::http::ask::site_of;
use crate::http::command::{Act, Outcome, Reply};
use crate::http::machines::dto::at_or_now;
use crate::http::noted::Noted;
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::event::Event;
use spindlebook_domain::floor::DisposeHold;
use spindlebook_domain::ids::HoldId;
use uuid::Uuid;

/// Decide about a held load
///
/// Accepting lifts the hold. Where a first piece was wanted, the rest of the operation may be cut from this setup on
/// this machine; after a formal first article, from every setup.
#[utoipa::path(
    operation_id = "disposeHold",
    tag = "Holds",
    params(("id" = Uuid, Path, description = "The hold")),
    request_body = DispositionBody,
    responses((status = 200, description = "What was decided", body = DisposedDto))
)]
#[post("/v1/holds/{id}/disposition")]
pub async fn dispose_hold(act: Act<op::DisposeHold, DispositionBody>, id: Path<Uuid>) -> Outcome {
    let hold = HoldId(id.into_inner());
    let zone = site_of(&act.caller.shop)?.zone;
    let DispositionBody {
        disposition,
        at,
        at_local,
        note,
    } = act.body;
    let at = at_or_now(zone, at, at_local, act.draft.now())?;
    let mut noted = Noted::default();
    let note = note.map(|note| noted.add(note));
    let command = DisposeHold {
        pieces: Vec::new(),
        revision: None,
        reference: None,
        hold,
        disposition,
        at,
        note,
    };
    act.draft
        .occurred_at(Some(at))
        .with_private(noted.private())
        .submit(command, move |accepted| {
            accepted
                .entries
                .iter()
                .find_map(|recorded| match &recorded.event {
                    Event::HoldAccepted(event) => Some(Reply::ok(&DisposedDto::from(event))),
                    _ => None,
                })
        })
        .await
}
