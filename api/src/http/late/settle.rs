use super::dto::{ChoiceName, SettledDto, SettledName, SettlementBody, deviations};
use crate::auth::op;
use crate::http::ask::site_of;
use crate::http::command::{Act, Outcome, Reply};
use crate::http::machines::dto::at_if_told;
use crate::http::noted::Noted;
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::ids::ParkedId;
use spindlebook_domain::late::{SettleAct, SettleChoice};
use uuid::Uuid;

/// Settle a parked act
///
/// A person has looked at both sides. Booking it says that it did happen, perhaps at another time than was told; what
/// still cannot be true is refused, and what was against a rule is recorded as a deviation. Dropping it says that it did
/// not happen or is in the book already. Both are entries; what was told stays readable.
#[utoipa::path(
    operation_id = "settleParkedAct",
    tag = "Late acts",
    params(("id" = Uuid, Path, description = "The parked act")),
    request_body = SettlementBody,
    responses((status = 200, description = "What became of it", body = SettledDto))
)]
#[post("/v1/parked-acts/{id}/settlement")]
pub async fn settle_parked_act(act: Act<op::SettleParkedAct, SettlementBody>, id: Path<Uuid>) -> Outcome {
    let parked = ParkedId(id.into_inner());
    let zone = site_of(&act.caller.shop)?.zone;
    let SettlementBody {
        choice,
        at,
        at_local,
        note,
    } = act.body;
    let at = at_if_told(zone, at, at_local)?;
    let mut noted = Noted::default();
    let note = note.map(|note| noted.add(note));
    let (choice, how) = match choice {
        ChoiceName::Book => (SettleChoice::Book { at }, SettledName::Booked),
        ChoiceName::Drop => (SettleChoice::Drop, SettledName::Dropped),
    };
    let command = SettleAct { parked, choice, note };
    act.draft
        .with_private(noted.private())
        .submit(command, move |accepted| {
            let settled = SettledDto {
                id: parked,
                how,
                entries: accepted
                    .entries
                    .iter()
                    .map(|recorded| recorded.entry.envelope.seq)
                    .collect(),
                warnings: deviations(accepted),
            };
            Some(Reply::ok(&settled))
        })
        .await
}
