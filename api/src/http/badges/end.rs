use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply};
use crate::problem::{Code, Problem};
use actix_web::delete;
use actix_web::web::Path;
use spindlebook_domain::device::EndBadge;
use spindlebook_domain::ids::BadgeId;

/// Drop out
///
/// Ends a badge at once: by the tablet, or by the person with the badge's own token.
#[utoipa::path(
    operation_id = "endBadge", tag = "Tablets",
    params(("id" = uuid::Uuid, Path, description = "The badge")),
    responses((status = 204, description = "Ended"))
)]
#[delete("/v1/badges/{id}")]
pub async fn end_badge(act: Act<op::EndBadge>, id: Path<BadgeId>) -> Outcome {
    let Act { caller, draft, .. } = act;
    let badge = *id;
    let is_theirs = caller.shop.badges.get(&badge).is_some_and(|known| {
        known.device == caller.principal || (caller.device.is_some() && caller.session == Some(badge.0))
    });
    if !is_theirs {
        let detail = "You have no badge with this id, and it is none of this tablet.";
        return Err(Problem::new(Code::NotFound, detail));
    }
    draft
        .submit(EndBadge { badge }, |_| Some(Reply::no_content()))
        .await
}
