use super::dto::{SignalsBody, SignalsReceivedDto};
use crate::auth::op;
use crate::http::ask::site_of;
use crate::http::command::{Act, Outcome, Reply};
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::ids::MachineId;
use uuid::Uuid;

/// Receive a machine's signals
///
/// Changes of state (MTConnect's EXECUTION, or OFF), whole cycles, or both; up to 50,000 transitions and 8 MiB a call.
/// What was known already is counted and dropped, what comes late is sorted in; the same call twice changes nothing.
#[utoipa::path(
    operation_id = "receiveSignals",
    tag = "Signals",
    params(("id" = Uuid, Path, description = "The machine")),
    request_body = SignalsBody,
    responses((status = 201, description = "What became of the rows", body = SignalsReceivedDto))
)]
#[post("/v1/machines/{id}/signals")]
pub async fn receive_signals(act: Act<op::ReceiveSignals, SignalsBody>, id: Path<Uuid>) -> Outcome {
    let machine = MachineId(id.into_inner());
    let zone = site_of(&act.caller.shop)?.zone;
    let rows = act.body.transitions.len();
    let command = act.body.into_command(machine, zone, act.draft.received_at())?;
    let rows_and_cycles = command
        .rows
        .iter()
        .map(|row| row.0)
        .chain(command.cycles.iter().map(|cycle| cycle.to));
    // A device that says when it sent has just sent: its own clock is not believed where it differs from ours.
    let occurred_at = rows_and_cycles.max().filter(|_| command.clock.is_none());
    act.draft
        .occurred_at(occurred_at)
        .submit(command, move |accepted| {
            let entries = accepted
                .entries
                .iter()
                .map(|recorded| (recorded.entry.envelope.seq, &recorded.event));
            let received = SignalsReceivedDto::new(rows, entries);
            let location = match received.entries.first() {
                Some(seq) => format!("/v1/ledger/{seq}"),
                None => format!("/v1/machines/{machine}"),
            };
            Some(Reply::created(location, &received))
        })
        .await
}
