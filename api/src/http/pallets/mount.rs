use super::act_dto::MountBody;
use super::acted::{PalletActedDto, acted};
use crate::auth::op;
use crate::http::ask::site_of;
use crate::http::command::{Act, Outcome, new_id};
use crate::http::late::dto::ParkedActDto;
use crate::http::machines::dto::at_or_now;
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::floor::MountFixture;
use spindlebook_domain::ids::{PalletId, SetupId};
use uuid::Uuid;

/// Begin to mount a fixture
///
/// A setup begins. The pallet is at a load station (or is the table of a standalone machine where nothing runs); the
/// fixture's interface, size and mass fit; a copy is free.
///
/// Caution: pallet changers and axes move without warning. Stay outside the guarded area and use only the machine
/// builder's door and request sequence; follow the builder's manual, your local rules and the advice of qualified
/// people. That the record says idle proves nothing about the machine.
#[utoipa::path(
    operation_id = "mountFixture",
    tag = "Pallets",
    params(("id" = Uuid, Path, description = "The pallet")),
    request_body = MountBody,
    responses(
        (status = 200, description = "The pallet after the act", body = PalletActedDto),
        (status = 202, description = "Parked: it waits for what is missing, or for somebody who decides", body = ParkedActDto)
    )
)]
#[post("/v1/pallets/{id}/mount")]
pub async fn mount_fixture(act: Act<op::MountFixture, MountBody>, id: Path<Uuid>) -> Outcome {
    let pallet = PalletId(id.into_inner());
    let zone = site_of(&act.caller.shop)?.zone;
    let now = act.draft.now();
    let MountBody {
        fixture,
        copy,
        at,
        at_local,
        reported,
    } = act.body;
    let at = at_or_now(zone, at, at_local, now)?;
    let command = MountFixture {
        pallet,
        at,
        setup: SetupId(new_id()),
        fixture,
        copy,
    };
    act.draft
        .occurred_at(Some(at))
        .reported(reported)
        .submit(command, move |accepted| acted(accepted, pallet, now, Vec::new()))
        .await
}
