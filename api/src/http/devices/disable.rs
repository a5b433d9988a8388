use super::find;
use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply};
use actix_web::delete;
use actix_web::web::Path;
use spindlebook_domain::access::DisablePrincipal;
use spindlebook_domain::ids::PrincipalId;

/// Disable a tablet
///
/// For good: its tokens are refused at once, and whoever is badged in on it is out. What it had delivered stays; what it
/// still keeps is taken no more.
#[utoipa::path(
    operation_id = "disableDevice", tag = "Tablets",
    params(("id" = uuid::Uuid, Path, description = "The tablet's id")),
    responses((status = 204, description = "Disabled"))
)]
#[delete("/v1/devices/{id}")]
pub async fn disable_device(act: Act<op::DisableDevice>, id: Path<PrincipalId>) -> Outcome {
    let principal = find(&act.caller.shop, *id)?.id;
    let command = DisablePrincipal {
        principal,
        expected: None,
    };
    act.draft.submit(command, |_| Some(Reply::no_content())).await
}
