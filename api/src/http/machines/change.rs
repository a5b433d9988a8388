use super::dto::{ChangeMachineBody, MachineDto};
use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply};
use actix_web::put;
use actix_web::web::Path;
use spindlebook_domain::ids::MachineId;
use uuid::Uuid;

/// Change a machine
///
/// Code, name and the time after which its silence counts as not known are replaced; without `silent_after_s` a state
/// lasts until the next row. Its cell stays.
#[utoipa::path(
    operation_id = "changeMachine",
    tag = "Machines",
    params(("id" = Uuid, Path, description = "The machine")),
    request_body = ChangeMachineBody,
    responses((status = 200, description = "The machine as it is now", body = MachineDto))
)]
#[put("/v1/machines/{id}")]
pub async fn change_machine(act: Act<op::ChangeMachine, ChangeMachineBody>, id: Path<Uuid>) -> Outcome {
    let machine = MachineId(id.into_inner());
    let command = act.body.into_command(machine, act.draft.if_match()?);
    act.draft
        .submit(command, move |accepted| {
            let machine = accepted.shop.machines.get(&machine)?;
            Some(Reply::ok(&MachineDto::from(machine)).at(machine.changed_seq))
        })
        .await
}
