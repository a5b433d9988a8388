use super::act_dto::LoadBody;
use super::acted::{PalletActedDto, acted};
use super::load_dto::read_overrides;
use crate::auth::op;
use crate::http::ask::site_of;
use crate::http::command::{Act, Outcome, new_id};
use crate::http::late::dto::ParkedActDto;
use crate::http::machines::dto::at_or_now;
use crate::http::noted::Noted;
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::floor::LoadPallet;
use spindlebook_domain::ids::{LoadId, PalletId};
use spindlebook_domain::load::Clamped;
use uuid::Uuid;

/// Load a pallet
///
/// Pieces are clamped: of one job operation or several, and empty nests are normal. More may be added until the load is
/// cut. Each operation fits the fixture and the cell, its pieces wait, the mass that is known is within the pallet's
/// limit. That the material has not arrived can be overridden by a planner.
///
/// Caution: pallet changers and axes move without warning. Stay outside the guarded area and use only the machine
/// builder's door and request sequence; follow the builder's manual, your local rules and the advice of qualified
/// people. That the record says idle proves nothing about the machine.
///
/// Caution: check the clamping as the fixture's sheet says: every clamp, its torque or pressure, part seated, loose
/// tools and rags out, faces balanced. The entry records that somebody loaded it; it checks nothing itself. Lift as your
/// own assessment says: `mass` is what has been weighed and no limit. Follow the machine builder's manual, your local
/// rules and the advice of qualified people.
#[utoipa::path(
    operation_id = "loadPallet",
    tag = "Pallets",
    params(("id" = Uuid, Path, description = "The pallet")),
    request_body = LoadBody,
    responses(
        (status = 200, description = "The pallet after the act", body = PalletActedDto),
        (status = 202, description = "Parked: it waits for what is missing, or for somebody who decides", body = ParkedActDto)
    )
)]
#[post("/v1/pallets/{id}/load")]
pub async fn load_pallet(act: Act<op::LoadPallet, LoadBody>, id: Path<Uuid>) -> Outcome {
    let pallet = PalletId(id.into_inner());
    let zone = site_of(&act.caller.shop)?.zone;
    let now = act.draft.now();
    let LoadBody {
        pieces,
        at,
        at_local,
        overrides,
        reported,
    } = act.body;
    let at = at_or_now(zone, at, at_local, now)?;
    let mut noted = Noted::default();
    let overrides = read_overrides(&act.caller, overrides, reported, &mut noted)?;
    let command = LoadPallet {
        pallet,
        at,
        load: LoadId(new_id()),
        clamped: pieces.into_iter().map(Clamped::from).collect(),
        overrides,
    };
    act.draft
        .occurred_at(Some(at))
        .reported(reported)
        .with_private(noted.private())
        .submit(command, move |accepted| acted(accepted, pallet, now, Vec::new()))
        .await
}
