//! The queue of a cell: the order in which its ready pallets go to the spindle.

use super::{CellQueueSet, QUEUE_MAX, QueueRefusal, SetQueue};
use crate::cell::CellRefusal;
use crate::refusal::Refusal;
use crate::shop::Shop;

pub fn set_queue(shop: &Shop, command: &SetQueue) -> Result<CellQueueSet, Refusal> {
    let unknown = CellRefusal::Unknown { cell: command.cell };
    let cell = shop.cells.get(&command.cell).ok_or(unknown)?;
    match command.expected {
        Some(expected) if expected != cell.queue_changed_seq => {
            let current = cell.queue_changed_seq;
            return Err(QueueRefusal::Stale { expected, current }.into());
        }
        _ => {}
    }
    let pallets = command.pallets.len();
    if pallets > QUEUE_MAX {
        let max = QUEUE_MAX;
        return Err(QueueRefusal::TooMany { pallets, max }.into());
    }
    for (index, &pallet) in command.pallets.iter().enumerate() {
        if command.pallets[..index].contains(&pallet) {
            return Err(QueueRefusal::Repeated { index, pallet }.into());
        }
        let known = shop.pallets.get(&pallet);
        let known = known.ok_or(QueueRefusal::UnknownPallet { index, pallet })?;
        if known.cell != cell.id {
            let cell = known.cell;
            return Err(QueueRefusal::Elsewhere { index, pallet, cell }.into());
        }
    }
    Ok(CellQueueSet {
        cell: cell.id,
        pallets: command.pallets.clone(),
    })
}
