use super::dto::{CAUTION, HandoverDto, HandoverNoteDto, InMachineDto, queue_of};
use super::odd::odd;
use crate::auth::op;
use crate::hours::Hours;
use crate::http::ask::Ask;
use crate::http::cells::pool_dto::CutsUntilDto;
use crate::http::find;
use crate::http::holds;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;
use actix_web::web::{Data, Path};
use spindlebook_domain::handover::Handover;
use spindlebook_domain::ids::CellId;
use spindlebook_domain::pool;
use spindlebook_store::private;
use uuid::Uuid;

/// Get the handover page of a cell
///
/// What is in the machines, what is held and why, what went otherwise than it should since the last handover, what runs
/// tonight, and one note. All of it is computed but the note.
///
/// Caution: this page supports talking to each other; it does not replace it. Say aloud what is bypassed, held, loose
/// or odd.
#[utoipa::path(
    operation_id = "getHandover", tag = "Cells",
    params(("id" = Uuid, Path, description = "The cell")),
    responses((status = 200, description = "The page", body = HandoverDto))
)]
#[get("/v1/cells/{id}/handover")]
pub async fn get_handover(
    ask: Ask<op::GetHandover>,
    id: Path<Uuid>,
    hours: Data<Hours>,
) -> Result<Shown, Problem> {
    let shop = &ask.shop;
    let cell = find::cell_at(shop, CellId(id.into_inner()))?;
    let now = ask.book.now();
    let Handover { note, last } = shop.handovers.get(&cell.id).cloned().unwrap_or_default();
    let since = last.as_ref().map_or(0, |last| last.seq);
    let (odd, odd_is_all) = odd(&ask.book, ask.caller.site, shop, cell.id, since).await?;
    let mut held: Vec<_> = shop.holds.values().filter(|hold| hold.cell == cell.id).collect();
    held.sort_by_key(|hold| (hold.since, hold.id));
    let source = ask.hours_source();
    let mut shown = Vec::with_capacity(held.len());
    for hold in held {
        shown.push(holds::list::shown(&hours, &source, shop, hold).await?);
    }
    let note = match note {
        Some(note) => {
            let mut session = ask.book.store().session().await?;
            let texts = private::texts(&mut session, ask.caller.site, &[note.note.text]).await?;
            let text = texts.into_iter().next().and_then(|text| text.body);
            Some(HandoverNoteDto::new(&note, text))
        }
        None => None,
    };
    let cuts = pool::cuts_until(shop, cell, now);
    let machines = shop.machines_of(cell.id).into_iter();
    let page = HandoverDto {
        cell: cell.id,
        as_of: now.into(),
        seq: shop.seq,
        caution: CAUTION,
        last: last.as_ref().map(Into::into),
        machines: machines
            .map(|machine| InMachineDto::of(machine, shop, now))
            .collect(),
        held: shown,
        odd,
        odd_is_all,
        tonight: CutsUntilDto::of(&cuts, cell.id, shop.seq, now),
        queue: queue_of(cell, shop),
        note,
    };
    Ok(Shown::new(&page)?.personal())
}
