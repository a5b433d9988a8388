use super::act_dto::WhenBody;
use super::acted::{PalletActedDto, acted};
use crate::auth::op;
use crate::http::ask::site_of;
use crate::http::command::{Act, Outcome};
use crate::http::late::dto::ParkedActDto;
use crate::http::machines::dto::at_or_now;
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::floor::FinishSetup;
use spindlebook_domain::ids::PalletId;
use uuid::Uuid;

/// Finish a setup
///
/// The fixture is on and lined up; from here on the pallet can be loaded.
#[utoipa::path(
    operation_id = "finishSetup",
    tag = "Pallets",
    params(("id" = Uuid, Path, description = "The pallet")),
    request_body = WhenBody,
    responses(
        (status = 200, description = "The pallet after the act", body = PalletActedDto),
        (status = 202, description = "Parked: it waits for what is missing, or for somebody who decides", body = ParkedActDto)
    )
)]
#[post("/v1/pallets/{id}/setup/finish")]
pub async fn finish_setup(act: Act<op::FinishSetup, WhenBody>, id: Path<Uuid>) -> Outcome {
    let pallet = PalletId(id.into_inner());
    let zone = site_of(&act.caller.shop)?.zone;
    let now = act.draft.now();
    let WhenBody {
        at,
        at_local,
        reported,
    } = act.body;
    let at = at_or_now(zone, at, at_local, now)?;
    let command = FinishSetup { pallet, at };
    act.draft
        .occurred_at(Some(at))
        .reported(reported)
        .submit(command, move |accepted| acted(accepted, pallet, now, Vec::new()))
        .await
}
