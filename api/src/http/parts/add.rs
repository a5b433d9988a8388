use super::dto::{AddPartBody, PartDto};
use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply, new_id};
use actix_web::post;
use spindlebook_domain::ids::PartId;

/// Add a part
///
/// With its first revision. A routing is set afterwards, for each revision its own.
#[utoipa::path(
    operation_id = "addPart",
    tag = "Parts",
    request_body = AddPartBody,
    responses((status = 201, description = "The new part", body = PartDto))
)]
#[post("/v1/parts")]
pub async fn add_part(act: Act<op::AddPart, AddPartBody>) -> Outcome {
    let part = PartId(new_id());
    let command = act.body.into_command(part);
    act.draft
        .submit(command, move |accepted| {
            let part = accepted.shop.parts.get(&part)?;
            let location = format!("/v1/parts/{}", part.id);
            Some(Reply::created(location, &PartDto::of(part, accepted.shop)).at(part.changed_seq))
        })
        .await
}
