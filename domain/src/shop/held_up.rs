//! Ready pallets that a first piece on another one holds up: nobody touches them, and yet they begin and cease to wait
//! for the inspector.

use super::Shop;
use crate::event::Event;
use crate::floor::{first_piece, passage, work};
use crate::ids::PalletId;
use crate::inspection::{Unjudged, rule_of};
use crate::load::{Clamped, Stage};
use crate::pallet::Pallet;
use crate::pool::{PalletState, state_of};
use crate::time::Timestamp;
use uuid::Uuid;

impl Shop {
    /// The state of a pallet as hours are told it: held is also one whose load waits, on every machine that takes it, for
    /// the first piece of its operation on another pallet.
    pub(super) fn state_in_time(&self, pallet: &Pallet, at: Timestamp) -> PalletState {
        match state_of(self, pallet) {
            PalletState::Ready | PalletState::ReadyAttendedOnly if self.is_held_up(pallet, at) => {
                PalletState::Held
            }
            state => state,
        }
    }

    fn is_held_up(&self, pallet: &Pallet, at: Timestamp) -> bool {
        let (Some(load), Some(setup)) = (&pallet.load, &pallet.setup) else {
            return false;
        };
        if !load.clamped.iter().any(|one| self.asks_for_first(one)) {
            return false;
        }
        let of_cell = self
            .machines
            .values()
            .filter(|machine| machine.cell == pallet.cell);
        let mut taking = of_cell
            .filter(|machine| work::not_on(self, &load.clamped, pallet.cell, machine.id).is_none())
            .peekable();
        taking.peek().is_some()
            && taking.all(|machine| first_piece::open_for(self, load, passage(setup, machine, at)).is_some())
    }

    fn asks_for_first(&self, one: &Clamped) -> bool {
        let machining = work::machining(self, one.job, one.operation);
        let is_due = || {
            self.jobs
                .get(&one.job)
                .is_some_and(|job| job.first_article_due.is_some())
        };
        machining.is_some_and(|machining| {
            let rule = rule_of(self, one.job, one.operation);
            rule.wants_first_piece(machining) || machining.first_article || is_due()
        })
    }

    /// The ready pallets whose work is that of a first piece with which something happens, and when they are told of it.
    /// Asked before the event is folded in: afterwards its load may be gone.
    pub(super) fn held_up_by(&self, event: &Event) -> Vec<(PalletId, Timestamp)> {
        let (pallet, at, hold) = match event {
            Event::RunStarted(event) => (event.pallet, event.at, None),
            Event::RunFinished(event) => (event.pallet, event.at, None),
            Event::RunAborted(event) => (event.pallet, event.at, None),
            Event::PalletUnloaded(event) => (event.pallet, event.at, None),
            Event::HoldPlaced(event) => (event.pallet, event.at, None),
            Event::HoldAccepted(event) => (event.pallet, event.at, self.holds.get(&event.hold)),
            Event::ActWithdrawn(event) => (event.pallet, event.at, None),
            Event::HoldDisposed(event) => (event.pallet, event.at, self.holds.get(&event.hold)),
            Event::InspectionReversed(event) => {
                (event.pallet.unwrap_or(PalletId(Uuid::nil())), event.at, None)
            }
            _ => return Vec::new(),
        };
        let taken_back = match event {
            Event::InspectionReversed(event) => &event.pieces[..],
            _ => &[],
        };
        let taken_back: Vec<_> = taken_back.iter().map(Unjudged::clamped).collect();
        let on_pallet = self.pallets.get(&pallet).and_then(|pallet| pallet.load.as_ref());
        let clamped = on_pallet.iter().flat_map(|load| &load.clamped);
        let clamped = clamped
            .chain(hold.iter().flat_map(|hold| &hold.clamped))
            .chain(&taken_back);
        let asked: Vec<_> = clamped.filter(|one| self.asks_for_first(one)).collect();
        if asked.is_empty() {
            return Vec::new();
        }
        let is_same = |one: &Clamped| {
            let same = |asked: &&Clamped| (asked.job, asked.operation) == (one.job, one.operation);
            asked.iter().any(same)
        };
        let waits = |other: &&Pallet| {
            let load = other.load.as_ref().filter(|load| load.stage == Stage::Ready);
            other.id != pallet && load.is_some_and(|load| load.clamped.iter().any(is_same))
        };
        let waiting = self.pallets.values().filter(waits);
        // What is told late does not reach back before the last act on the pallet itself.
        waiting
            .map(|other| (other.id, other.acted_at.map_or(at, |acted_at| acted_at.max(at))))
            .collect()
    }
}
