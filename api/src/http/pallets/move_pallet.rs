use super::act_dto::MoveBody;
use super::acted::{PalletActedDto, acted};
use crate::auth::op;
use crate::http::ask::site_of;
use crate::http::command::{Act, Outcome};
use crate::http::late::dto::ParkedActDto;
use crate::http::machines::dto::at_or_now;
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::floor::MovePallet;
use spindlebook_domain::ids::PalletId;
use uuid::Uuid;

/// Record that a pallet was moved
///
/// The changer or a person moves it; this is the record and commands no motion. One pallet a place; where two change
/// places in one movement, say `exchange`. A held load does not go to a spindle.
///
/// Caution: pallet changers and axes move without warning. Stay outside the guarded area and use only the machine
/// builder's door and request sequence; follow the builder's manual, your local rules and the advice of qualified
/// people. That the record says idle proves nothing about the machine.
#[utoipa::path(
    operation_id = "movePallet",
    tag = "Pallets",
    params(("id" = Uuid, Path, description = "The pallet")),
    request_body = MoveBody,
    responses(
        (status = 200, description = "The pallet after the act", body = PalletActedDto),
        (status = 202, description = "Parked: it waits for what is missing, or for somebody who decides", body = ParkedActDto)
    )
)]
#[post("/v1/pallets/{id}/move")]
pub async fn move_pallet(act: Act<op::MovePallet, MoveBody>, id: Path<Uuid>) -> Outcome {
    let pallet = PalletId(id.into_inner());
    let zone = site_of(&act.caller.shop)?.zone;
    let now = act.draft.now();
    let MoveBody {
        to,
        exchange,
        at,
        at_local,
        reported,
    } = act.body;
    let at = at_or_now(zone, at, at_local, now)?;
    let to = to.read("/to")?;
    let command = MovePallet {
        pallet,
        at,
        to,
        exchange,
    };
    act.draft
        .occurred_at(Some(at))
        .reported(reported)
        .submit(command, move |accepted| acted(accepted, pallet, now, Vec::new()))
        .await
}
