use super::find;
use crate::auth::{Caller, op};
use crate::book::Book;
use crate::problem::Problem;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, delete};
use spindlebook_domain::ids::TextId;
use spindlebook_store::private;

/// Forget a note
///
/// Blanks the text, and the salt without which nobody can try texts against the hash, for good. The entry keeps the
/// note's id and its hash, and the ledger verifies as before.
#[utoipa::path(
    operation_id = "forgetNote",
    tag = "Notes",
    params(("id" = uuid::Uuid, Path, description = "The note's id")),
    responses((status = 204, description = "Forgotten, now or before"))
)]
#[delete("/v1/notes/{id}")]
pub async fn forget_note(
    caller: Caller<op::ForgetNote>,
    id: Path<TextId>,
    book: Data<Book>,
) -> Result<HttpResponse, Problem> {
    let (site, id) = (caller.site, *id);
    let mut transaction = book.store().begin().await?;
    if private::forget_text(&mut transaction, site, id, book.now()).await? {
        transaction.commit().await?;
        tracing::info!(target: "audit", %site, actor = %caller.actor(), note = %id, "note forgotten");
    } else {
        // Forgotten before, or never there.
        find(&mut transaction, site, id).await?;
    }
    Ok(HttpResponse::NoContent().finish())
}
