//! A plan that is being computed in the background.

use super::dto::{PlanBody, due_times};
use super::schedule_dto::ScheduleDto;
use crate::auth::Caller;
use crate::http::command::Draft;
use crate::http::computations::dto::ComputationDto;
use crate::planning::{Asked, Begun, Ground, Planning};
use crate::problem::{Code, Problem};
use actix_web::body::BoxBody;
use actix_web::http::header;
use actix_web::{HttpRequest, HttpResponse, Responder};
use sha2::{Digest, Sha256};
use spindlebook_domain::ids::PlanId;
use spindlebook_domain::refusal::Refusal;
use spindlebook_domain::site::SiteRefusal;
use std::sync::Arc;

const SECONDS: u32 = 5;

#[derive(Debug)]
pub struct Computing(ComputationDto);

impl Responder for Computing {
    type Body = BoxBody;

    fn respond_to(self, _: &HttpRequest) -> HttpResponse {
        let place = format!("/v1/computations/{}", self.0.id);
        HttpResponse::Accepted()
            .insert_header((header::LOCATION, place))
            .json(self.0)
    }
}

/// Asked again under the same key, it is the same computation.
pub async fn begin<O>(
    caller: &Caller<O>,
    draft: &Draft,
    body: PlanBody,
    planning: &Planning,
) -> Result<Computing, Problem> {
    let due = due_times(&caller.shop, &body.due_times)?;
    let book = draft.book();
    let ground = Ground::of(book, caller.site, Arc::clone(&caller.shop), &due).await?;
    let not_opened = || Problem::from(Refusal::from(SiteRefusal::NotOpened {}));
    let mut ground = ground.ok_or_else(not_opened)?;
    if let Some(horizon_s) = body.horizon_s {
        ground.options.horizon_s = horizon_s.get();
    }
    let asked = Asked {
        plan: plan_of(&caller.actor().to_string(), draft),
        fingerprint: draft.fingerprint().to_vec(),
        asked_by: caller.actor().to_string(),
        ground,
        search: body.search.unwrap_or_default().or(SECONDS),
        told: |told| serde_json::to_string(&ScheduleDto::of(told)),
    };
    let now = book.now();
    match planning.begin(caller.site, asked).await? {
        Begun::Now(new) => Ok(Computing(ComputationDto::of(&new, now))),
        Begun::Before(before) if before.fingerprint == draft.fingerprint() => {
            Ok(Computing(ComputationDto::of(&before, now)))
        }
        Begun::Before(_) => Err(Problem::new(
            Code::KeyReused,
            "Under this Idempotency-Key another plan was asked for; send a new UUID with each command.",
        )),
    }
}

/// Whoever asks again gets the same plan.
fn plan_of(actor: &str, draft: &Draft) -> PlanId {
    let digest = Sha256::new()
        .chain_update(actor)
        .chain_update(draft.key().0.as_bytes())
        .finalize();
    let mut bytes = [0; 16];
    bytes.copy_from_slice(&digest[..16]);
    PlanId(uuid::Builder::from_custom_bytes(bytes).into_uuid())
}
