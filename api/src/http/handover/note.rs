use super::dto::{HandedOverDto, HandoverNoteBody};
use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply};
use crate::http::noted::Noted;
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::handover::NoteHandover;
use spindlebook_domain::ids::CellId;
use uuid::Uuid;

/// Leave a note for the next shift
///
/// One: a later one takes its place. It stands on the page until whoever comes in confirms.
#[utoipa::path(
    operation_id = "noteHandover", tag = "Cells", request_body = HandoverNoteBody,
    params(("id" = Uuid, Path, description = "The cell")),
    responses((status = 200, description = "Noted", body = HandedOverDto))
)]
#[post("/v1/cells/{id}/handover/note")]
pub async fn note_handover(act: Act<op::NoteHandover, HandoverNoteBody>, id: Path<Uuid>) -> Outcome {
    let cell = CellId(id.into_inner());
    let mut noted = Noted::default();
    let note = noted.add(act.body.note);
    act.draft
        .with_private(noted.private())
        .submit(NoteHandover { cell, note }, move |done| {
            let seq = done.shop.handovers.get(&cell)?.note.as_ref()?.seq;
            Some(Reply::ok(&HandedOverDto { cell, seq }))
        })
        .await
}
