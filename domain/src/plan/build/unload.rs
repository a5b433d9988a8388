//! Taking a load off: its pallet is free again, and its pieces go on to the next operation.

use super::place::Not;
use super::state::{GONE, NO_LOAD, NOT_PLACED};
use super::{Builder, LeftOut, Scratch, Span};
use crate::plan::model::{Arrival, CellNow, NEVER, Phase, StepKind};

impl Builder<'_> {
    /// When the pallet has come out of the spindle by an exchange of its own, and nothing holds its load.
    pub(super) fn may_come_off(&self, scratch: &Scratch, index: usize, cell: &CellNow) -> i64 {
        let placed = &scratch.placed[index];
        let cut_at = if placed.run.is_some() { placed.run.to } else { 0 };
        let out_at = cut_at + cell.exchange_s;
        let judged_at = if placed.inspection.is_some() {
            placed.inspection.to
        } else {
            0
        };
        let held_until = match self.model.loads[index].phase {
            Phase::Cut { from, .. } => from,
            _ => 0,
        };
        out_at.max(judged_at).max(held_until)
    }

    pub(super) fn place_cut(&self, scratch: &mut Scratch, index: usize, pallet: usize, from: i64) {
        let now = &self.model.pallets[pallet];
        let placed = &mut scratch.placed[index];
        placed.pallet = pallet;
        placed.copy = scratch.pallets[pallet].copy;
        placed.is_placed = true;
        scratch.pallets[pallet].free_at = NEVER;
        match now.at_spindle.filter(|_| self.model.cells[now.cell].is_full) {
            Some(machine) => scratch.machines[machine].in_spindle = index,
            None => {
                // Nobody comes any more within a year: the pallet stays as it is.
                if self.take_off(scratch, index, from).is_err() {
                    self.leave_out(scratch, index, LeftOut::TooFar);
                }
            }
        }
    }

    /// In a full cell: the exchange that brings the next pallet takes the last one out.
    pub(super) fn give_way(&self, scratch: &mut Scratch, machine: usize, start: i64) {
        let out = std::mem::replace(&mut scratch.machines[machine].in_spindle, NO_LOAD);
        if out == NO_LOAD {
            return;
        }
        let cell = &self.model.cells[self.model.machines[machine].cell];
        let from = self.may_come_off(scratch, out, cell).max(start);
        if self.take_off(scratch, out, from).is_err() {
            self.leave_out(scratch, out, LeftOut::TooFar);
        }
    }

    /// In a full cell: the pallet is wanted while it is still in the spindle. An exchange takes it out against another one,
    /// and the machine stands meanwhile.
    pub(super) fn free_the_pallet(&self, scratch: &mut Scratch, pallet: usize, cell: usize) {
        if scratch.pallets[pallet].free_at < NEVER || !self.model.cells[cell].is_full {
            return;
        }
        let machine = scratch.machines.iter().position(|machine| {
            machine.in_spindle != NO_LOAD && scratch.placed[machine.in_spindle].pallet == pallet
        });
        if let Some(machine) = machine {
            self.swap_out(scratch, machine);
        }
    }

    fn swap_out(&self, scratch: &mut Scratch, machine: usize) {
        let exchange_s = self.model.cells[self.model.machines[machine].cell].exchange_s;
        let state = &mut scratch.machines[machine];
        state.free_at = state.free_at.max(0) + exchange_s;
        self.give_way(scratch, machine, 0);
    }

    /// What is still in spindles at the end; its pieces may be what others wait for.
    pub(super) fn take_off_the_rest(&self, scratch: &mut Scratch, choice: &[u16]) {
        for (task, choice) in choice.iter().enumerate() {
            scratch.choice_of[self.model.fixed + task] = *choice;
        }
        while let Some(machine) = (0..scratch.machines.len())
            .filter(|machine| scratch.machines[*machine].in_spindle != NO_LOAD)
            .min_by_key(|machine| scratch.machines[*machine].free_at)
        {
            self.swap_out(scratch, machine);
            self.place_ready(scratch);
        }
    }

    /// What was counted of it counts no more; the time that it had taken stays empty.
    pub(super) fn leave_out(&self, scratch: &mut Scratch, index: usize, why: LeftOut) {
        let placed = scratch.placed[index];
        if placed.run.is_some() {
            scratch.spindle_s -= self.counted_s(placed.run);
            scratch.starts_s -= placed.run.from.max(0);
        }
        scratch.changes -= u32::from(placed.mount.is_some());
        let pallet = match self.model.loads[index].phase.pallet() {
            Some(pallet) => Some(pallet),
            None => placed.way.map(|_| placed.pallet),
        };
        if let (LeftOut::TooFar, Some(pallet)) = (why, pallet) {
            scratch.pallets[pallet].free_at = GONE;
        }
        scratch.placed[index] = NOT_PLACED;
        scratch.left_out[index] = Some(why);
    }

    pub(super) fn take_off(&self, scratch: &mut Scratch, index: usize, from: i64) -> Result<(), Not> {
        let load = &self.model.loads[index];
        let pallet = scratch.placed[index].pallet;
        let cell_index = self.model.pallets[pallet].cell;
        let cell = &self.model.cells[cell_index];
        if from >= NEVER {
            return Err(Not::Ever(LeftOut::TooFar));
        }
        let span: Span = self.by_hand(scratch, cell, from, load.unload_s)?;
        scratch.placed[index].unload = span;
        scratch.pallets[pallet].free_at = span.to;
        if matches!(
            load.phase,
            Phase::Cut { .. } | Phase::Running { .. } | Phase::Ready { .. }
        ) && load.pieces.is_empty()
        {
            return Ok(());
        }
        for (step, pieces) in &load.pieces {
            self.hand_on(scratch, *step + 1, span.to, *pieces, cell_index);
        }
        Ok(())
    }

    /// Good pieces go on: through manual steps to the next machined one, or to the end of the job.
    fn hand_on(&self, scratch: &mut Scratch, step: usize, at: i64, pieces: u32, cell: usize) {
        let (mut step, mut at, mut from) = (step, at, Some(cell));
        while let StepKind::Manual(lead) = self.model.steps[step].kind {
            at = if at < NEVER {
                self.model.leads[lead].back_at(at)
            } else {
                NEVER
            };
            step += 1;
            from = None;
        }
        let arrival = Arrival {
            at,
            pieces,
            cell: from,
        };
        scratch.piles.arrive(step, arrival);
        let now = &self.model.steps[step];
        if now.kind == StepKind::Done {
            self.job_may_be_done(scratch, now.job);
        } else {
            self.wake(scratch, step);
        }
    }

    /// Loads that waited for pieces here may go on, as far as these suffice.
    fn wake(&self, scratch: &mut Scratch, step: usize) {
        let mut promised = 0;
        let mut next = scratch.steps[step].waiting;
        let first_ready = scratch.ready.len();
        while next != NO_LOAD {
            let pieces = self.model.loads[next].pieces[0].1;
            if scratch.piles.ready_at(step, promised + pieces, None, 0).is_none() {
                break;
            }
            promised += pieces;
            scratch.left_out[next] = None;
            scratch.ready.push(next);
            next = scratch.next_waiting[next];
        }
        scratch.ready[first_ready..].reverse();
        let state = &mut scratch.steps[step];
        state.waiting = next;
        if next == NO_LOAD {
            state.last_waiting = NO_LOAD;
        }
    }
}
