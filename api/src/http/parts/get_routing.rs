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
use utoipa::IntoParams;
use uuid::Uuid;

#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct RevisionQuery {
    /// Without it, the newest one.
    #[param(value_type = Option<text::Code>)]
    pub revision: Option<Code>,
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
    let named = match &revision {
        Some(revision) => part.revision(revision),
        None => part.revisions.last(),
    };
    let shown = named.and_then(|revision| RoutingDto::of(part, revision));
    let shown = shown.ok_or_else(|| {
        let which = revision.map_or_else(
            || "the newest revision".to_owned(),
            |code| format!("revision {code}"),
        );
        let detail = format!("The part {} has no routing for {which}: PUT sets one.", part.code);
        Problem::new(ProblemCode::NotFound, detail)
    })?;
    Ok(Shown::new(&shown)?.at(part.changed_seq))
}
