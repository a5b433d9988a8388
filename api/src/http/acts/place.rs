use super::aside::Request;
use super::dto::{PlaceActBody, PlacedActDto};
use super::within::{Answer, Within, request_of};
use crate::auth::{Delivered, op};
use crate::book::Book;
use crate::http::command::{Act, Outcome, Reply};
use crate::problem::{Code, Problem};
use actix_web::web::{Data, Path};
use actix_web::{HttpRequest, post};
use sha2::{Digest, Sha256};
use spindlebook_domain::device::{PlaceAct, placeable};
use spindlebook_domain::ids::CommandId;
use spindlebook_domain::refusal::Refusal;
use spindlebook_store::private;
use std::rc::Rc;
use uuid::Uuid;

/// Say when an act was
///
/// It is then done as if it had been tapped at that time, by the person who tapped it; who said when stands in the entry
/// behind it. An act that its own operation refuses goes on waiting.
#[utoipa::path(
    operation_id = "placeSetAsideAct", tag = "Tablets", request_body = PlaceActBody,
    params(("id" = Uuid, Path, description = "The key of the act")),
    responses((status = 200, description = "Taken", body = PlacedActDto))
)]
#[post("/v1/acts/set-aside/{id}/time")]
pub async fn place_set_aside_act(
    act: Act<op::PlaceSetAsideAct, PlaceActBody>,
    id: Path<Uuid>,
    book: Data<Book>,
    request: HttpRequest,
) -> Outcome {
    let Act { caller, body, draft } = act;
    let (key, at) = (CommandId(id.into_inner()), body.at.0);
    if let Some(before) = draft.answered_before().await? {
        return Ok(before);
    }
    let waiting = placeable(&caller.shop, key, at).map_err(Refusal::from)?;
    let mut session = book.store().session().await?;
    let texts = private::texts(&mut session, caller.site, &[waiting.act.request.text]).await?;
    drop(session);
    let text = texts.into_iter().next().and_then(|text| text.body);
    let kept = text.and_then(|text| serde_json::from_str::<Request>(&text).ok());
    let kept = kept.ok_or_else(|| Problem::new(Code::NotFound, "What was tapped was forgotten."))?;
    let delivered = Delivered {
        site: caller.site,
        device: waiting.act.device,
        person: waiting.act.person,
        happened_at: at,
    };
    let within = request.app_data::<Rc<Within>>();
    let within = within.ok_or_else(|| Problem::fault(&"the application was built without itself"))?;
    let asked = request_of(&kept.path, kept.body.get(), key_of_placing(key, at), delivered)?;
    let Answer { status, body, .. } = within.ask(asked).await?;
    let answer = serde_json::from_slice(&body).unwrap_or(serde_json::Value::Null);
    if !status.is_success() {
        let detail = format!(
            "Its own operation refuses it: {}",
            answer["detail"].as_str().unwrap_or_default()
        );
        let problem = Problem::new(Code::ActRefused, detail);
        return Err(problem
            .with("status_of_act", status.as_u16())
            .with("answer", answer));
    }
    let placed = PlacedActDto {
        key,
        at: at.into(),
        status: status.as_u16(),
        answer,
    };
    draft
        .submit(PlaceAct { key, at }, move |_| Some(Reply::ok(&placed)))
        .await
}

/// The act's own key has its first answer already. Another time is another attempt; the same one again is the same.
fn key_of_placing(key: CommandId, at: spindlebook_domain::time::Timestamp) -> CommandId {
    let digest = Sha256::new()
        .chain_update(b"placing")
        .chain_update(key.0.as_bytes())
        .chain_update(at.us().to_be_bytes())
        .finalize();
    let mut bytes = [0; 16];
    bytes.copy_from_slice(&digest[..16]);
    CommandId(uuid::Builder::from_custom_bytes(bytes).into_uuid())
}
