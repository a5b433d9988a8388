use super::dto::{ConfirmHandoverBody, HandedOverDto};
use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply};
use crate::http::whole::Whole;
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::handover::ConfirmHandover;
use spindlebook_domain::ids::CellId;
use uuid::Uuid;

/// Confirm a handover
///
/// By whoever comes in, and has read the page and talked to whoever goes. The page begins anew from here.
#[utoipa::path(
    operation_id = "confirmHandover", tag = "Cells", request_body = ConfirmHandoverBody,
    params(("id" = Uuid, Path, description = "The cell")),
    responses((status = 200, description = "Confirmed", body = HandedOverDto))
)]
#[post("/v1/cells/{id}/handover/confirm")]
pub async fn confirm_handover(act: Act<op::ConfirmHandover, ConfirmHandoverBody>, id: Path<Uuid>) -> Outcome {
    let cell = CellId(id.into_inner());
    let as_of = act.body.as_of_seq;
    let command = ConfirmHandover {
        cell,
        as_of: Whole::to(as_of),
    };
    act.draft
        .submit(command, move |done| {
            let seq = done.shop.handovers.get(&cell)?.last.as_ref()?.seq;
            Some(Reply::ok(&HandedOverDto { cell, seq }))
        })
        .await
}
