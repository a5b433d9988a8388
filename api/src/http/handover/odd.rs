//! What is told at handover because it went otherwise than it should: read from the ledger since the last one.

use super::dto::OddDto;
use crate::book::{Book, LedgerError};
use spindlebook_domain::entry::Entry;
use spindlebook_domain::event::Event;
use spindlebook_domain::ids::{CellId, MachineId, PalletId, Seq, SiteId, TextId};
use spindlebook_domain::note::NoteRef;
use spindlebook_domain::shop::Shop;

/// So far back it is looked at most: some days of a shop.
const LOOKED_THROUGH_MAX: Seq = 10_000;
const PAGE: u32 = 500;
const ODD_MAX: usize = 200;
/// Only these are read; the payloads of the others are passed over.
const KINDS: [&str; 9] = [
    "run.aborted",
    "machine.set_down",
    "machine.set_up",
    "hold.placed",
    "deviation.recorded",
    "act.parked",
    "act.withdrawn",
    "run.retimed",
    "pallet.recounted",
];

/// What is said of an entry.
#[derive(Default)]
struct About {
    machine: Option<MachineId>,
    pallet: Option<PalletId>,
    reason: Option<String>,
    note: Option<TextId>,
}

/// Those of the cell after entry `since`, the newest last, and whether these are all.
pub async fn odd(
    book: &Book,
    site: SiteId,
    shop: &Shop,
    cell: CellId,
    since: Seq,
) -> Result<(Vec<OddDto>, bool), LedgerError> {
    let earliest = shop.seq.saturating_sub(LOOKED_THROUGH_MAX);
    let (mut found, mut after) = (Vec::new(), since.max(earliest));
    while after < shop.seq {
        let entries = book.entries_after(site, after, PAGE).await?;
        let Some(last) = entries.last() else { break };
        after = last.envelope.seq;
        found.extend(entries.iter().filter_map(|entry| odd_of(entry, shop, cell)));
    }
    let is_all = since >= earliest && found.len() <= ODD_MAX;
    let newest = found.split_off(found.len().saturating_sub(ODD_MAX));
    Ok((newest, is_all))
}

fn odd_of(entry: &Entry, shop: &Shop, cell: CellId) -> Option<OddDto> {
    let envelope = &entry.envelope;
    if !KINDS.contains(&envelope.kind.as_str()) {
        return None;
    }
    let event = Event::decode(&envelope.kind, envelope.schema, &entry.payload).ok()?;
    let about = about(&event);
    let of_machine = about
        .machine
        .and_then(|id| shop.machines.get(&id))
        .map(|machine| machine.cell);
    let of_pallet = about
        .pallet
        .and_then(|id| shop.pallets.get(&id))
        .map(|pallet| pallet.cell);
    (of_machine.or(of_pallet) == Some(cell)).then(|| OddDto {
        seq: envelope.seq,
        kind: envelope.kind.clone(),
        at: envelope.occurred_at.into(),
        by: envelope.actor.to_string(),
        machine: about.machine,
        pallet: about.pallet,
        reason: about.reason,
        note: about.note,
    })
}

fn about(event: &Event) -> About {
    let text = |note: &Option<NoteRef>| note.as_ref().map(|note| note.text);
    match event {
        Event::RunAborted(event) => About {
            machine: Some(event.machine),
            pallet: Some(event.pallet),
            reason: Some(event.reason.to_string()),
            note: text(&event.note),
        },
        Event::MachineSetDown(event) => About {
            machine: Some(event.machine),
            reason: Some(event.reason.to_string()),
            note: text(&event.note),
            ..About::default()
        },
        Event::MachineSetUp(event) => About {
            machine: Some(event.machine),
            ..About::default()
        },
        Event::HoldPlaced(event) => About {
            pallet: Some(event.pallet),
            reason: Some(event.kind.to_string()),
            note: text(&event.note),
            ..About::default()
        },
        Event::DeviationRecorded(event) => About {
            pallet: event.pallet,
            reason: Some(event.rule.clone()),
            ..About::default()
        },
        Event::ActParked(event) => About {
            machine: event.act.machine(),
            pallet: event.act.pallet(),
            reason: Some(event.code.clone()),
            ..About::default()
        },
        Event::ActWithdrawn(event) => About {
            pallet: Some(event.pallet),
            note: text(&event.note),
            ..About::default()
        },
        Event::RunRetimed(event) => About {
            machine: Some(event.machine),
            pallet: Some(event.pallet),
            reason: Some(event.edge.to_string()),
            note: text(&event.note),
        },
        Event::PalletRecounted(event) => About {
            pallet: Some(event.pallet),
            note: text(&event.note),
            ..About::default()
        },
        _ => About::default(),
    }
}
