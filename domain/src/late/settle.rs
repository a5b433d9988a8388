//! What arrives before its predecessor settles by itself in the entry that brings it.

use super::decide::book;
use super::{ActSettled, Parked, Settlement};
use crate::command::Context;
use crate::entry::EntryMeta;
use crate::event::Event;
use crate::floor::Telling;
use crate::shop::Shop;
use crate::time::Timestamp;

/// The events of a command, and those of the parked acts that can be booked with them.
pub fn with_settled(shop: &Shop, mut events: Vec<Event>, context: &Context<'_>) -> Vec<Event> {
    if shop.parked.is_empty() || events.is_empty() {
        return events;
    }
    let mut trial = Trial::after(shop, &events, context);
    while let Some(settled) = trial.next(context.now) {
        trial.take_in(&settled, context);
        events.extend(settled);
    }
    events
}

/// The shop as it will be after the events that are decided so far.
struct Trial {
    shop: Shop,
}

impl Trial {
    fn after(shop: &Shop, events: &[Event], context: &Context<'_>) -> Self {
        let mut trial = Self { shop: shop.clone() };
        trial.take_in(events, context);
        trial
    }

    fn take_in(&mut self, events: &[Event], context: &Context<'_>) {
        for event in events {
            let meta = EntryMeta {
                seq: self.shop.seq + 1,
                occurred_at: context.now,
                recorded_at: context.now,
                actor: context.actor,
            };
            self.shop.apply(event, &meta);
        }
    }

    /// The first parked act, in the order in which they happened, that can be booked as things are now.
    fn next(&self, now: Timestamp) -> Option<Vec<Event>> {
        let mut waiting: Vec<_> = self.shop.parked.values().collect();
        waiting.sort_by_key(|parked| (parked.act.at(), parked.seq));
        waiting.into_iter().find_map(|parked| self.booked(parked, now))
    }

    /// What could be true by chance, because other things were done with the same pallet later, is left for a person.
    fn booked(&self, parked: &Parked, now: Timestamp) -> Option<Vec<Event>> {
        if !self.is_next_on_its_things(parked) {
            return None;
        }
        let booked = book(&self.shop, &parked.act, parked.hold, Telling::reported(now)).ok()?;
        let settled = ActSettled {
            parked: parked.id,
            how: Settlement::Itself,
            at: None,
            note: None,
        };
        Some(std::iter::once(Event::from(settled)).chain(booked).collect())
    }

    fn is_next_on_its_things(&self, parked: &Parked) -> bool {
        let shop = &self.shop;
        let run = parked.act.run().and_then(|run| shop.runs.get(&run));
        let machine = parked.act.machine().or(run.map(|run| run.machine));
        let pallet = parked.act.pallet().or(run.map(|run| run.pallet));
        let on_machine = machine.and_then(|machine| shop.machines.get(&machine)?.acted_at);
        let on_pallet = pallet.and_then(|pallet| shop.pallets.get(&pallet)?.acted_at);
        on_machine
            .max(on_pallet)
            .is_none_or(|last| last <= parked.act.at())
    }
}
