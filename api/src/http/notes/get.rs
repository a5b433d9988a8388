use super::dto::NoteDto;
use super::find;
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;
use actix_web::web::Path;
use spindlebook_domain::ids::TextId;

/// Read a note
///
/// An entry of the ledger names it as `payload.note.text`. One that was forgotten is still there, without its text.
#[utoipa::path(
    operation_id = "getNote",
    tag = "Notes",
    params(("id" = uuid::Uuid, Path, description = "The note's id")),
    responses((status = 200, description = "The note", body = NoteDto))
)]
#[get("/v1/notes/{id}")]
pub async fn get_note(ask: Ask<op::GetNote>, id: Path<TextId>) -> Result<Shown, Problem> {
    let mut session = ask.book.store().session().await?;
    let note = find(&mut session, ask.caller.site, *id).await?;
    Ok(Shown::new(&NoteDto::from(note))?.personal())
}
