use super::dto::{ReadingsBody, ReadingsReceivedDto};
use crate::auth::op;
use crate::http::ask::site_of;
use crate::http::command::{Act, Outcome, Reply};
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::ids::MachineId;
use uuid::Uuid;

/// Receive readings of a machine's counters
///
/// In order; each is held against the one before it, so that a wrong machine or a wrong unit is noticed at once.
#[utoipa::path(
    operation_id = "receiveReadings",
    tag = "Signals",
    params(("id" = Uuid, Path, description = "The machine")),
    request_body = ReadingsBody,
    responses((status = 201, description = "What became of the readings", body = ReadingsReceivedDto))
)]
#[post("/v1/machines/{id}/readings")]
pub async fn receive_readings(act: Act<op::ReceiveReadings, ReadingsBody>, id: Path<Uuid>) -> Outcome {
    let machine = MachineId(id.into_inner());
    let zone = site_of(&act.caller.shop)?.zone;
    let command = act.body.into_command(machine, zone, act.draft.received_at())?;
    let rows = command.readings.len();
    let last = command.readings.iter().map(|reading| reading.at).max();
    let occurred_at = last.filter(|_| command.clock.is_none());
    act.draft
        .occurred_at(occurred_at)
        .submit(command, move |accepted| {
            let entries = accepted
                .entries
                .iter()
                .map(|recorded| (recorded.entry.envelope.seq, &recorded.event));
            let received = ReadingsReceivedDto::new(rows, entries);
            let location = match received.entries.first() {
                Some(seq) => format!("/v1/ledger/{seq}"),
                None => format!("/v1/machines/{machine}"),
            };
            Some(Reply::created(location, &received))
        })
        .await
}
