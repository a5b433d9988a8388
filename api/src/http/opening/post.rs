use super::dto::{OpenedDto, OpeningBody};
use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply};
use actix_web::post;

/// State what stands on the floor
///
/// Day one: which pallet stands where with which fixture and pieces, and what has become of half-done jobs. One
/// document, all of it or nothing, and only of things with which nothing has been done yet.
#[utoipa::path(
    operation_id = "stateOpening",
    tag = "Site",
    request_body = OpeningBody,
    responses((status = 200, description = "What was taken", body = OpenedDto))
)]
#[post("/v1/opening-statement")]
pub async fn state_opening(act: Act<op::StateOpening, OpeningBody>) -> Outcome {
    let at = act.draft.now();
    let command = act.body.into_command(at)?;
    let (pallets, jobs) = (command.pallets.len(), command.jobs.len());
    act.draft
        .submit(command, move |accepted| {
            Some(Reply::ok(&OpenedDto {
                pallets,
                jobs,
                at: at.into(),
                seq: accepted.shop.seq,
            }))
        })
        .await
}
