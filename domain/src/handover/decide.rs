use super::{
    ConfirmHandover, Handover, HandoverConfirmed, HandoverNote, HandoverNoted, HandoverRefusal, LastHandover,
};
use crate::cell::CellRefusal;
use crate::command::{Command, Context};
use crate::entry::EntryMeta;
use crate::event::Event;
use crate::ids::CellId;
use crate::refusal::Refusal;
use crate::shop::Shop;

/// Commands of other topics give nothing.
pub fn decide(shop: &Shop, command: &Command, context: &Context<'_>) -> Result<Vec<Event>, Refusal> {
    let one: Event = match command {
        Command::NoteHandover(command) => HandoverNoted {
            cell: known(shop, command.cell)?,
            note: command.note.clone(),
        }
        .into(),
        Command::ConfirmHandover(command) => confirm(shop, command, context)?.into(),
        _ => return Ok(Vec::new()),
    };
    Ok(vec![one])
}

fn confirm(
    shop: &Shop,
    command: &ConfirmHandover,
    context: &Context<'_>,
) -> Result<HandoverConfirmed, Refusal> {
    let (cell, as_of) = (known(shop, command.cell)?, command.as_of);
    if as_of > shop.seq {
        return Err(HandoverRefusal::Ahead {
            as_of,
            head: shop.seq,
        }
        .into());
    }
    let note = shop
        .handovers
        .get(&cell)
        .and_then(|handover| handover.note.as_ref());
    if let Some(note) = note {
        if note.seq > as_of {
            return Err(HandoverRefusal::NotRead {
                cell,
                noted_at: note.at,
                as_of,
                note_seq: note.seq,
            }
            .into());
        }
        if note.by == context.actor.to_string() {
            let by = note.by.clone();
            return Err(HandoverRefusal::OwnNote { cell, by }.into());
        }
    }
    Ok(HandoverConfirmed { cell, as_of })
}

fn known(shop: &Shop, cell: CellId) -> Result<CellId, CellRefusal> {
    let known = shop.cells.get(&cell).map(|cell| cell.id);
    known.ok_or(CellRefusal::Unknown { cell })
}

pub fn apply(shop: &mut Shop, event: &Event, meta: &EntryMeta) {
    let (by, at, seq) = (meta.actor.to_string(), meta.occurred_at, meta.seq);
    match event {
        Event::HandoverNoted(noted) => {
            let mut handover = shop.handovers.get(&noted.cell).cloned().unwrap_or_default();
            let note = noted.note.clone();
            handover.note = Some(HandoverNote { note, by, at, seq });
            shop.handovers.insert(noted.cell, handover);
        }
        Event::HandoverConfirmed(confirmed) => {
            let last = Some(LastHandover { by, at, seq });
            shop.handovers
                .insert(confirmed.cell, Handover { note: None, last });
        }
        _ => {}
    }
}
