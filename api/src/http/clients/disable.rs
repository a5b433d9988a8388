use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply};
use crate::http::users::find;
use actix_web::delete;
use actix_web::web::Path;
use spindlebook_domain::access::{DisablePrincipal, PrincipalKind};
use spindlebook_domain::ids::PrincipalId;

/// Disable a machine client
///
/// For good: its tokens are refused at once. What it sent stays in the ledger.
#[utoipa::path(
    operation_id = "disableClient", tag = "Clients",
    params(("id" = uuid::Uuid, Path, description = "The client's id")),
    responses((status = 204, description = "Disabled"))
)]
#[delete("/v1/clients/{id}")]
pub async fn disable_client(act: Act<op::DisableClient>, id: Path<PrincipalId>) -> Outcome {
    let Act { caller, draft, .. } = act;
    let principal = find(&caller.shop, *id, PrincipalKind::Client)?.id;
    draft
        .submit(
            DisablePrincipal {
                principal,
                expected: None,
            },
            |_| Some(Reply::no_content()),
        )
        .await
}
