use super::dto::{BeginBadgeBody, BegunBadgeDto};
use crate::auth::{Auth, op, pin_refused};
use crate::book::Book;
use crate::http::command::{Act, Answered, Outcome, Reply, new_id};
use crate::problem::Problem;
use actix_web::post;
use actix_web::web::Data;
use spindlebook_domain::access::PrincipalKind;
use spindlebook_domain::device::{BeginBadge, Contact};
use spindlebook_domain::ids::{BadgeId, SiteId};
use spindlebook_domain::shop::Shop;

/// Badge in on a tablet
///
/// By one's name and PIN, sent by the tablet. Whoever held it before is out. Two wrong PINs are answered at once, then
/// the person waits, longer each time; after ten an admin unlocks. Sent again under its key it gives a new token for the
/// same badge.
#[utoipa::path(
    operation_id = "beginBadge", tag = "Tablets", request_body = BeginBadgeBody,
    responses((status = 201, description = "Badged in", body = BegunBadgeDto))
)]
#[post("/v1/badges")]
pub async fn begin_badge(
    act: Act<op::BeginBadge, BeginBadgeBody>,
    auth: Data<Auth>,
    book: Data<Book>,
) -> Outcome {
    let Act { caller, body, draft } = act;
    let site = caller.site;
    if let Some(before) = draft.answered_before().await? {
        return with_token(before, &auth, &book, site);
    }
    let is_there = caller.shop.principals.get(&body.person);
    let is_there = is_there.filter(|one| one.kind == PrincipalKind::Person && one.is_enabled());
    auth.pins.check(&book, site, body.person, &body.pin).await?;
    is_there.ok_or_else(pin_refused)?;
    let received_at = draft.received_at();
    let claimed_since = body.claimed.map(|claimed| {
        let contact = Contact {
            clock: claimed.clock.0,
            received_at,
        };
        contact.corrected(claimed.since.0)
    });
    let badge = BadgeId(new_id());
    let command = BeginBadge {
        badge,
        device: caller.principal,
        person: body.person,
        claimed_since,
    };
    let answered = draft
        .submit(command, move |done| {
            let badge = done.shop.badges.get(&badge)?;
            Some(Reply::created(
                format!("/v1/badges/{}", badge.id),
                &BegunBadgeDto::from(badge),
            ))
        })
        .await?;
    with_token(answered, &auth, &book, site)
}

fn with_token(answered: Answered, auth: &Auth, book: &Book, site: SiteId) -> Outcome {
    let id = answered.member("id").and_then(|id| id.parse().ok()).map(BadgeId);
    let shop = book.shop(site);
    let badge = id.and_then(|id| shop.as_deref().and_then(|shop: &Shop| shop.badges.get(&id)));
    match badge.filter(|badge| badge.is_live(book.now())) {
        Some(badge) => {
            let token = auth.badge_token(site, badge)?;
            Ok(answered.with_fresh("access_token", token.reveal()))
        }
        None => Ok::<_, Problem>(answered),
    }
}
