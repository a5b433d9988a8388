use super::routing_dto::{RoutingBody, RoutingDto};
use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply};
use actix_web::put;
use actix_web::web::Path;
use spindlebook_domain::ids::PartId;
use uuid::Uuid;

/// Set the routing of a part's revision
///
/// All of it: operations in ascending order, each either machining in one or several cells, or a manual step in the
/// house or at a vendor. What was released with the routing before keeps that one. The version in `If-Match` is the
/// part's.
///
/// A clearance says that the shop has decided that the operation may run with nobody there; nothing here makes a run
/// without danger. Only proven work, by your own rules, the machine builder's manual and your insurer's terms.
#[utoipa::path(
    operation_id = "setRouting",
    tag = "Parts",
    params(("id" = Uuid, Path, description = "The part")),
    request_body = RoutingBody,
    responses((status = 200, description = "The routing as it is now", body = RoutingDto))
)]
#[put("/v1/parts/{id}/routing")]
pub async fn set_routing(act: Act<op::SetRouting, RoutingBody>, id: Path<Uuid>) -> Outcome {
    let part = PartId(id.into_inner());
    let expected = act.draft.if_match()?;
    let revision = act.body.revision.clone();
    let command = act.body.into_command(part, expected)?;
    act.draft
        .submit(command, move |accepted| {
            let part = accepted.shop.parts.get(&part)?;
            let routing = RoutingDto::of(part, part.revision(&revision)?)?;
            Some(Reply::ok(&routing).at(part.changed_seq))
        })
        .await
}
