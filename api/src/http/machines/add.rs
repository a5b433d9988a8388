use super::dto::{AddMachineBody, MachineDto};
use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply, new_id};
use actix_web::post;
use spindlebook_domain::ids::{CellId, MachineId};

/// Add a machine
///
/// With `cell` it joins that pool. Without, it is standalone: one answer, two entries, a cell of its own and the
/// machine in it.
#[utoipa::path(
    operation_id = "addMachine",
    tag = "Machines",
    request_body = AddMachineBody,
    responses((status = 201, description = "The new machine", body = MachineDto))
)]
#[post("/v1/machines")]
pub async fn add_machine(act: Act<op::AddMachine, AddMachineBody>) -> Outcome {
    let machine = MachineId(new_id());
    let command = act.body.into_command(machine, CellId(new_id()));
    act.draft
        .submit(command, move |accepted| {
            let machine = accepted.shop.machines.get(&machine)?;
            let location = format!("/v1/machines/{}", machine.id);
            Some(Reply::created(location, &MachineDto::from(machine)).at(machine.changed_seq))
        })
        .await
}
