use super::{DEVIATIONS_KEPT, Deviation, Parked};
use crate::entry::EntryMeta;
use crate::event::Event;
use crate::shop::Shop;

pub fn apply(shop: &mut Shop, event: &Event, meta: &EntryMeta) {
    match event {
        Event::ActParked(event) => shop.parked.insert(
            event.parked,
            Parked {
                id: event.parked,
                act: event.act.clone(),
                hold: event.hold,
                code: event.code.clone(),
                detail: event.detail.clone(),
                told_by: meta.actor,
                recorded_at: meta.recorded_at,
                seq: meta.seq,
            },
        ),
        Event::ActSettled(event) => {
            shop.parked.remove(&event.parked);
        }
        Event::DeviationRecorded(event) => {
            let deviation = Deviation {
                rule: event.rule.clone(),
                detail: event.detail.clone(),
                act: event.act.clone(),
                pallet: event.pallet,
                load: event.load,
                run: event.run,
                at: event.at,
                told_by: meta.actor,
                recorded_at: meta.recorded_at,
                seq: meta.seq,
            };
            shop.deviations.insert(meta.seq, deviation);
            if shop.deviations.len() > DEVIATIONS_KEPT
                && let Some(oldest) = shop.deviations.iter().map(|(seq, _)| *seq).min()
            {
                shop.deviations.remove(&oldest);
            }
        }
        _ => {}
    }
}
