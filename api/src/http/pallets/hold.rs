use super::act_dto::HoldBody;
use super::acted::{PalletActedDto, WarningCode, WarningDto, acted};
use crate::auth::op;
use crate::http::ask::site_of;
use crate::http::command::{Accepted, Act, Outcome, new_id};
use crate::http::late::dto::ParkedActDto;
use crate::http::machines::dto::at_or_now;
use crate::http::noted::Noted;
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::floor::PlaceHold;
use spindlebook_domain::ids::{HoldId, PalletId};
use spindlebook_domain::load::{HoldKind, Stage};
use uuid::Uuid;

/// Hold a load
///
/// Somebody doubts what is on the pallet. It is not offered and not started before an inspector or planner has decided.
/// A hold on a pallet that is being cut stops no machine: it holds what comes out. The emergency stop is at the machine.
#[utoipa::path(
    operation_id = "holdPallet",
    tag = "Pallets",
    params(("id" = Uuid, Path, description = "The pallet")),
    request_body = HoldBody,
    responses(
        (status = 200, description = "The pallet after the act", body = PalletActedDto),
        (status = 202, description = "Parked: it waits for what is missing, or for somebody who decides", body = ParkedActDto)
    )
)]
#[post("/v1/pallets/{id}/hold")]
pub async fn hold_pallet(act: Act<op::HoldPallet, HoldBody>, id: Path<Uuid>) -> Outcome {
    let pallet = PalletId(id.into_inner());
    let zone = site_of(&act.caller.shop)?.zone;
    let now = act.draft.now();
    let HoldBody {
        kind,
        at,
        at_local,
        note,
        reported,
    } = act.body;
    let at = at_or_now(zone, at, at_local, now)?;
    let mut noted = Noted::default();
    let note = note.map(|note| noted.add(note));
    let command = PlaceHold {
        kind: kind.unwrap_or(HoldKind::Suspect),
        pallet,
        at,
        hold: HoldId(new_id()),
        note,
    };
    act.draft
        .occurred_at(Some(at))
        .reported(reported)
        .with_private(noted.private())
        .submit(command, move |accepted| {
            acted(accepted, pallet, now, warnings(accepted, pallet))
        })
        .await
}

fn warnings(accepted: &Accepted<'_>, pallet: PalletId) -> Vec<WarningDto> {
    let load = accepted
        .shop
        .pallets
        .get(&pallet)
        .and_then(|pallet| pallet.load.as_ref());
    let is_cut = load.is_some_and(|load| matches!(load.stage, Stage::InRun { .. }));
    let warning = WarningDto {
        code: WarningCode::MachineGoesOn,
        detail: "the hold does not stop the machine; it holds when the pallet comes out. The emergency stop is at the \
                 machine"
            .to_owned(),
    };
    is_cut.then_some(warning).into_iter().collect()
}
