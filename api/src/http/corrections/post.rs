use super::dto::{CorrectedDto, CorrectionBody};
use crate::auth::op;
use crate::http::ask::site_of;
use crate::http::command::{Act, Outcome, Reply};
use crate::http::ledger::entry_of;
use crate::http::noted::Noted;
use crate::problem::Problem;
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::correction::Correct;
use spindlebook_domain::event::Event;

/// Put an entry right
///
/// The entry stays as it is; another one that names it says what is true, and reports follow and say that they changed.
/// Withdrawing says that an act did not happen; only the last one on its pallet can be withdrawn. Another time moves
/// stretches of time and never the order of acts. Other counts book the difference, as long as the pieces are still where
/// they were counted to. Whoever told it may do so within 15 minutes, a planner at any time.
#[utoipa::path(
    operation_id = "correctEntry",
    tag = "Late acts",
    params(("seq" = u64, Path, minimum = 1, maximum = 9_007_199_254_740_991_i64, description = "The entry that was wrong")),
    request_body = CorrectionBody,
    responses((status = 201, description = "The entry that puts it right", body = CorrectedDto))
)]
#[post("/v1/ledger/{seq}/corrections")]
pub async fn correct_entry(act: Act<op::CorrectEntry, CorrectionBody>, seq: Path<u64>) -> Outcome {
    let corrects = seq.into_inner();
    let zone = site_of(&act.caller.shop)?.zone;
    let (change, note) = act.body.read(zone)?;
    let (site, head_seq) = (act.caller.site, act.caller.shop.seq);
    let entry = entry_of(act.draft.book(), site, head_seq, corrects).await?;
    let envelope = &entry.envelope;
    let event = Event::decode(&envelope.kind, envelope.schema, &entry.payload);
    let mut noted = Noted::default();
    let command = Correct {
        corrects,
        event: event.map_err(|error| Problem::fault(&error))?,
        told_by: envelope.actor,
        recorded_at: envelope.recorded_at,
        change,
        note: note.map(|note| noted.add(note)),
    };
    act.draft
        .with_private(noted.private())
        .submit(command, move |accepted| {
            let recorded = accepted.entries.first()?;
            let entry = recorded.entry.envelope.seq;
            let corrected = CorrectedDto {
                corrects,
                entry,
                kind: recorded.event.kind(),
            };
            Some(Reply::created(format!("/v1/ledger/{entry}"), &corrected))
        })
        .await
}
