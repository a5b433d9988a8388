use super::routing_dto::RoutingDto;
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::find;
use crate::http::parameters::Parameters;
use crate::http::shown::Shown;
use crate::http::text;
use crate::problem::{Code as ProblemCode, Problem};
use actix_web::get;
use actix_web::web::Path;
use serde::Deserialize;
use spindlebook_domain::code::Code;
use spindlebook_domain::ids::PartId;
use spindlebook_domain::part::PartRefusal;
use spindlebook_domain::refusal::Refusal;
use utoipa::IntoParams;
use uuid::Uuid;

#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct RevisionQuery {
    /// Always said: the newest is not what an older order is made by.
    #[param(value_type = text::Code)]
    pub revision: Code,
}

/// Get the routing of a part's revision
#[utoipa::path(
    operation_id = "getRouting",
    tag = "Parts",
    params(("id" = Uuid, Path, description = "The part"), RevisionQuery),
    responses((status = 200, description = "The routing", body = RoutingDto))
)]
#[get("/v1/parts/{id}/routing")]
pub async fn get_routing(
    ask: Ask<op::GetRouting>,
    id: Path<Uuid>,
    query: Parameters<RevisionQuery>,
) -> Result<Shown, Problem> {
    let Parameters(RevisionQuery { revision }) = query;
    let part = find::part_at(&ask.shop, PartId(id.into_inner()))?;
    let named = part.revision(&revision).ok_or_else(|| {
        Problem::from(Refusal::from(PartRefusal::UnknownRevision {
            part: part.id,
            revision: revision.clone(),
        }))
    })?;
    let shown = RoutingDto::of(part, named).ok_or_else(|| {
        let detail = format!(
            "Revision {revision} of part {} has no routing yet: PUT sets one.",
            part.code
        );
        Problem::new(ProblemCode::NotFound, detail)
    })?;
    Ok(Shown::new(&shown)?.at(part.changed_seq))
}
