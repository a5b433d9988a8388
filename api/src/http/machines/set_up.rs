use super::dto::{MachineDto, UpBody, at_or_now};
use crate::auth::op;
use crate::http::ask::site_of;
use crate::http::command::{Act, Outcome, Reply};
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::ids::MachineId;
use spindlebook_domain::machine::SetMachineUp;
use uuid::Uuid;

/// Set a machine up again
#[utoipa::path(
    operation_id = "setMachineUp",
    tag = "Machines",
    params(("id" = Uuid, Path, description = "The machine")),
    request_body = UpBody,
    responses((status = 200, description = "The machine as it is now", body = MachineDto))
)]
#[post("/v1/machines/{id}/up")]
pub async fn set_machine_up(act: Act<op::SetMachineUp, UpBody>, id: Path<Uuid>) -> Outcome {
    let machine = MachineId(id.into_inner());
    let zone = site_of(&act.caller.shop)?.zone;
    let UpBody { at, at_local } = act.body;
    let at = at_or_now(zone, at, at_local, act.draft.now())?;
    let command = SetMachineUp { machine, at };
    act.draft
        .occurred_at(Some(at))
        .submit(command, move |accepted| {
            let machine = accepted.shop.machines.get(&machine)?;
            Some(Reply::ok(&MachineDto::from(machine)).at(machine.changed_seq))
        })
        .await
}
