use super::dto::MachineDto;
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::find;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;
use actix_web::web::Path;
use spindlebook_domain::ids::MachineId;
use uuid::Uuid;

/// Get a machine
#[utoipa::path(
    operation_id = "getMachine",
    tag = "Machines",
    params(("id" = Uuid, Path, description = "The machine")),
    responses((status = 200, description = "The machine", body = MachineDto))
)]
#[get("/v1/machines/{id}")]
pub async fn get_machine(ask: Ask<op::GetMachine>, id: Path<Uuid>) -> Result<Shown, Problem> {
    let machine = find::machine_at(&ask.shop, MachineId(id.into_inner()))?;
    Ok(Shown::new(&MachineDto::from(machine))?.at(machine.changed_seq))
}
