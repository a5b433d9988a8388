use super::tools_dto::{ToolsBody, ToolsDto};
use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply};
use actix_web::put;
use actix_web::web::Path;
use spindlebook_domain::ids::MachineId;
use uuid::Uuid;

/// Set the tools of a machine
///
/// All that is in the magazine, with the life that each has left. Twins are the same tool twice. The list is as old as
/// its last change: nothing counts the life down.
#[utoipa::path(
    operation_id = "setMachineTools",
    tag = "Machines",
    params(("id" = Uuid, Path, description = "The machine")),
    request_body = ToolsBody,
    responses((status = 200, description = "What is in the magazine now", body = ToolsDto))
)]
#[put("/v1/machines/{id}/tools")]
pub async fn set_machine_tools(act: Act<op::SetMachineTools, ToolsBody>, id: Path<Uuid>) -> Outcome {
    let machine = MachineId(id.into_inner());
    let expected = act.draft.if_match()?;
    let command = act.body.into_command(machine, expected);
    act.draft
        .submit(command, move |accepted| {
            let machine = accepted.shop.machines.get(&machine)?;
            Some(Reply::ok(&ToolsDto::from(machine)).at(machine.tools_changed_seq))
        })
        .await
}
