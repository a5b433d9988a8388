use super::dto::{ChangePartBody, PartDto};
use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply};
use actix_web::put;
use actix_web::web::Path;
use spindlebook_domain::ids::PartId;
use uuid::Uuid;

/// Change a part
///
/// Its code and name. Revisions and routings stay as they are.
#[utoipa::path(
    operation_id = "changePart",
    tag = "Parts",
    params(("id" = Uuid, Path, description = "The part")),
    request_body = ChangePartBody,
    responses((status = 200, description = "The part as it is now", body = PartDto))
)]
#[put("/v1/parts/{id}")]
pub async fn change_part(act: Act<op::ChangePart, ChangePartBody>, id: Path<Uuid>) -> Outcome {
    let part = PartId(id.into_inner());
    let expected = act.draft.if_match()?;
    let command = act.body.into_change(part, expected);
    act.draft
        .submit(command, move |accepted| {
            let part = accepted.shop.parts.get(&part)?;
            Some(Reply::ok(&PartDto::of(part, accepted.shop)).at(part.changed_seq))
        })
        .await
}
