use super::dto::{PartDto, RevisionBody};
use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply};
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::ids::PartId;
use uuid::Uuid;

/// Add a revision of a part
///
/// It begins without a routing. Jobs that were released with another revision stay as they are.
#[utoipa::path(
    operation_id = "addRevision",
    tag = "Parts",
    params(("id" = Uuid, Path, description = "The part")),
    request_body = RevisionBody,
    responses((status = 201, description = "The part with all its revisions", body = PartDto))
)]
#[post("/v1/parts/{id}/revisions")]
pub async fn add_revision(act: Act<op::AddRevision, RevisionBody>, id: Path<Uuid>) -> Outcome {
    let part = PartId(id.into_inner());
    let command = act.body.into_command(part);
    act.draft
        .submit(command, move |accepted| {
            let part = accepted.shop.parts.get(&part)?;
            let location = format!("/v1/parts/{}", part.id);
            Some(Reply::created(location, &PartDto::of(part, accepted.shop)).at(part.changed_seq))
        })
        .await
}
