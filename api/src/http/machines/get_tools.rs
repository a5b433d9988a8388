use super::tools_dto::ToolsDto;
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::find;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;
use actix_web::web::Path;
use spindlebook_domain::ids::MachineId;
use uuid::Uuid;

/// Get the tools of a machine
#[utoipa::path(
    operation_id = "getMachineTools",
    tag = "Machines",
    params(("id" = Uuid, Path, description = "The machine")),
    responses((status = 200, description = "What is in the magazine", body = ToolsDto))
)]
#[get("/v1/machines/{id}/tools")]
pub async fn get_machine_tools(ask: Ask<op::GetMachineTools>, id: Path<Uuid>) -> Result<Shown, Problem> {
    let machine = find::machine_at(&ask.shop, MachineId(id.into_inner()))?;
    Ok(Shown::new(&ToolsDto::from(machine))?.at(machine.tools_changed_seq))
}
