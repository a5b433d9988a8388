use super::act_dto::UnloadBody;
use super::acted::{PalletActedDto, acted};
use crate::auth::op;
use crate::http::ask::site_of;
use crate::http::command::{Act, Outcome};
use crate::http::late::dto::ParkedActDto;
use crate::http::machines::dto::at_or_now;
use crate::http::noted::Noted;
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::floor::{Count, UnloadPallet};
use spindlebook_domain::ids::PalletId;
use uuid::Uuid;

/// Unload a pallet and count
///
/// Everything is taken off, and every piece that was clamped is counted: good, scrapped, to rework, to inspection or
/// uncut. A held load, and one whose run was broken off, gives no good pieces before somebody has looked.
///
/// Caution: pallet changers and axes move without warning. Stay outside the guarded area and use only the machine
/// builder's door and request sequence; follow the builder's manual, your local rules and the advice of qualified
/// people. That the record says idle proves nothing about the machine.
#[utoipa::path(
    operation_id = "unloadPallet",
    tag = "Pallets",
    params(("id" = Uuid, Path, description = "The pallet")),
    request_body = UnloadBody,
    responses(
        (status = 200, description = "The pallet after the act", body = PalletActedDto),
        (status = 202, description = "Parked: it waits for what is missing, or for somebody who decides", body = ParkedActDto)
    )
)]
#[post("/v1/pallets/{id}/unload")]
pub async fn unload_pallet(act: Act<op::UnloadPallet, UnloadBody>, id: Path<Uuid>) -> Outcome {
    let pallet = PalletId(id.into_inner());
    let zone = site_of(&act.caller.shop)?.zone;
    let now = act.draft.now();
    let UnloadBody {
        counts,
        at,
        at_local,
        note,
        reported,
    } = act.body;
    let at = at_or_now(zone, at, at_local, now)?;
    let mut noted = Noted::default();
    let note = note.map(|note| noted.add(note));
    let command = UnloadPallet {
        pallet,
        at,
        counts: counts.into_iter().map(Count::from).collect(),
        note,
    };
    act.draft
        .occurred_at(Some(at))
        .reported(reported)
        .with_private(noted.private())
        .submit(command, move |accepted| acted(accepted, pallet, now, Vec::new()))
        .await
}
