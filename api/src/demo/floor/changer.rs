//! The changer of a pool: which pallet goes to a free spindle. What the rules would not take is not tried.

use super::Story;
use super::agenda::Due;
use super::spindle::Busy;
use crate::demo::sheets::In;
use crate::demo::shop::NotAShop;
use spindlebook_domain::command::Command;
use spindlebook_domain::floor::{MovePallet, SetQueue, StartRun};
use spindlebook_domain::ids::{CellId, MachineId, PalletId, RunId};
use spindlebook_domain::pallet::{Pallet, Position};
use spindlebook_domain::pool::PalletState;
use spindlebook_domain::time::Timestamp;
use uuid::Uuid;

impl Story<'_> {
    /// Something may have become ready. The table of a standalone machine is started by hand.
    pub fn wakes_machines(&mut self, cell: CellId, at: Timestamp) {
        let mut free: Vec<_> = self
            .spindles
            .values()
            .filter(|spindle| spindle.cell == cell && spindle.busy == Busy::Free)
            .filter(|spindle| spindle.machine != self.invented.standalone)
            .collect();
        // The one that has waited longest goes first.
        free.sort_by_key(|spindle| spindle.log.rows.last().map(|(at, _)| *at));
        let free: Vec<_> = free.into_iter().map(|spindle| spindle.machine).collect();
        for machine in free {
            self.agenda.at(at, Due::Free(machine));
        }
    }

    pub fn changes_pallets(&mut self, machine: MachineId, at: Timestamp) -> Result<(), NotAShop> {
        let Some(spindle) = self.spindles.get(&machine) else {
            return Ok(());
        };
        if spindle.busy != Busy::Free || self.is_about_to_break(machine, at) {
            return Ok(());
        }
        let cell = spindle.cell;
        let begins_at = at.plus_s(self.dice.between(62, 105));
        let there = Position::Spindle { machine };
        let next = self
            .ready_for(cell, machine, at)
            .into_iter()
            .find_map(|(pallet, from)| {
                let mut commands = self.moves(pallet, from, there, at);
                commands.push(start(machine, begins_at).into());
                self.told
                    .takes(begins_at, self.operator(), &commands)
                    .then_some((pallet, from))
            });
        let Some((pallet, from)) = next else {
            return Ok(());
        };
        for command in self.moves(pallet, from, there, at) {
            self.acts(at, self.operator(), command)?;
        }
        if let Some(spindle) = self.spindles.get_mut(&machine) {
            spindle.busy = Busy::Begins {
                pallet,
                at: begins_at,
            };
        }
        self.agenda.at(begins_at, Due::Begins(machine, pallet));
        Ok(())
    }

    /// Nothing, if it is there.
    fn moves(&self, pallet: PalletId, from: Position, to: Position, at: Timestamp) -> Vec<Command> {
        if from == to {
            return Vec::new();
        }
        let is_taken = self.told.shop.pallets.values().any(|other| other.position == to);
        let exchange = is_taken;
        vec![
            MovePallet {
                pallet,
                to,
                exchange,
                at,
            }
            .into(),
        ]
    }

    /// In the order in which they would go: the queue's, then as they were loaded. In the evening those that may not run
    /// alone come first.
    fn ready_for(&self, cell: CellId, machine: MachineId, at: Timestamp) -> Vec<(PalletId, Position)> {
        let queue = self
            .told
            .shop
            .cells
            .get(&cell)
            .map_or(&[][..], |cell| cell.queue.as_slice());
        let mut ready: Vec<_> = self
            .pallets_of(cell)
            .into_iter()
            .filter(|pallet| self.is_ready(pallet, machine))
            .collect();
        let night = self.fills_night(at);
        ready.sort_by_key(|pallet| {
            let queued = queue
                .iter()
                .position(|queued| *queued == pallet.id)
                .unwrap_or(usize::MAX);
            let alone = night && self.state_of(pallet.id) == PalletState::Ready;
            (queued, alone, !self.is_rush(pallet), pallet.acted_at)
        });
        ready
            .into_iter()
            .map(|pallet| (pallet.id, pallet.position))
            .collect()
    }

    fn is_ready(&self, pallet: &Pallet, machine: MachineId) -> bool {
        let is_loose = match pallet.position {
            Position::Spindle { machine: at } => at == machine,
            Position::LoadStation { .. } | Position::Stand { .. } => true,
        };
        is_loose
            && matches!(
                self.state_of(pallet.id),
                PalletState::Ready | PalletState::ReadyAttendedOnly
            )
    }

    /// The lead puts a rush order first, and in the evening what cannot run alone before what can.
    pub fn orders_queues(&mut self, at: Timestamp) -> Result<(), NotAShop> {
        let cells: Vec<_> = [In::FiveAxis, In::Horizontal]
            .map(|at| self.invented.machines.cell(at))
            .to_vec();
        for cell in cells {
            let stand = self.invented.machines.spindles(In::Standalone).first().copied();
            let Some(elsewhere) = stand else { continue };
            let mut ready: Vec<_> = self
                .pallets_of(cell)
                .into_iter()
                .filter(|pallet| self.is_ready(pallet, elsewhere))
                .collect();
            let night = self.fills_night(at);
            ready.sort_by_key(|pallet| {
                let alone = night && self.state_of(pallet.id) == PalletState::Ready;
                (!self.is_rush(pallet), alone, pallet.acted_at)
            });
            let pallets: Vec<_> = ready.into_iter().map(|pallet| pallet.id).collect();
            let stands_so = self
                .told
                .shop
                .cells
                .get(&cell)
                .is_some_and(|cell| cell.queue == pallets);
            if !stands_so {
                let expected = None;
                self.acts(
                    at,
                    self.lead(),
                    SetQueue {
                        cell,
                        pallets,
                        expected,
                    },
                )?;
                self.wakes_machines(cell, at);
            }
        }
        Ok(())
    }
}

/// To ask what the rules say; the id is not kept.
fn start(machine: MachineId, at: Timestamp) -> StartRun {
    StartRun {
        run: RunId(Uuid::nil()),
        machine,
        pallet: None,
        purpose: None,
        at,
        overrides: Vec::new(),
    }
}
