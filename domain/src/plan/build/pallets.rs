//! Which pallet takes a load: the one on which it could be clamped first.

use super::state::{NO_COPY, NO_LOAD};
use super::{Builder, Scratch};
use crate::plan::model::{NEVER, Way};

/// A pallet for a load, and what has to be mounted on it first.
#[derive(Clone, Copy, Debug)]
pub(super) struct Seat {
    pub pallet: usize,
    /// The copy that has to be mounted first.
    pub mounts: Option<usize>,
    pub mount_from: i64,
    /// The pallet of another cell that carries the copy now.
    pub taken_from: Option<usize>,
    ready_at: i64,
}

impl Seat {
    /// The number of the setup in which the load will be clamped.
    pub fn setup_after(&self, scratch: &Scratch) -> u32 {
        scratch.pallets[self.pallet].setup + u32::from(self.mounts.is_some())
    }
}

impl Builder<'_> {
    pub(super) fn seat(&self, scratch: &Scratch, cell: usize, way: &Way, pieces_at: i64) -> Option<Seat> {
        let mounted = self.mounted(scratch, cell, way, pieces_at);
        if way.stays_mounted && mounted.is_some() {
            return mounted;
        }
        let to_mount = self.to_mount(scratch, cell, way, pieces_at);
        let both = mounted.into_iter().chain(to_mount);
        // Of two that are ready at once, the one that has its fixture on comes first.
        both.min_by_key(|seat| (seat.ready_at, seat.mounts.is_some()))
    }

    fn mounted(&self, scratch: &Scratch, cell: usize, way: &Way, pieces_at: i64) -> Option<Seat> {
        let mut best: Option<Seat> = None;
        for (pallet, state) in scratch.pallets.iter().enumerate() {
            if state.copy == NO_COPY || self.model.copies[state.copy].fixture != way.fixture {
                continue;
            }
            if self.model.pallets[pallet].cell != cell {
                continue;
            }
            let ready_at = self.free_at(scratch, pallet).max(pieces_at);
            if best.is_none_or(|best| ready_at < best.ready_at) && ready_at < NEVER {
                best = Some(Seat {
                    pallet,
                    mounts: None,
                    mount_from: 0,
                    taken_from: None,
                    ready_at,
                });
            }
        }
        best
    }

    fn to_mount(&self, scratch: &Scratch, cell: usize, way: &Way, pieces_at: i64) -> Option<Seat> {
        let (copy, copy_at, taken_from) = self.copy(scratch, cell, way.fixture)?;
        let mount_s = self.model.fixtures[way.fixture].mount_s;
        let mut best: Option<Seat> = None;
        for (pallet, state) in scratch.pallets.iter().enumerate() {
            let now = &self.model.pallets[pallet];
            let has_it = state.copy != NO_COPY && self.model.copies[state.copy].fixture == way.fixture;
            if now.cell != cell || !now.carries[way.fixture] || state.is_reserved || has_it {
                continue;
            }
            let mount_from = self.free_at(scratch, pallet).max(copy_at);
            let ready_at = (mount_from + mount_s).max(pieces_at);
            if mount_from >= NEVER {
                continue;
            }
            // An empty pallet before one that loses its fixture.
            let is_better = best.is_none_or(|best| (ready_at, state.copy != NO_COPY) < (best.ready_at, true));
            if is_better {
                best = Some(Seat {
                    pallet,
                    mounts: Some(copy),
                    mount_from,
                    taken_from,
                    ready_at,
                });
            }
        }
        best
    }

    /// A copy in store, else one that stands on a pallet of another cell where nothing is clamped.
    fn copy(&self, scratch: &Scratch, cell: usize, fixture: usize) -> Option<(usize, i64, Option<usize>)> {
        let mut best: Option<(usize, i64, Option<usize>)> = None;
        for (copy, now) in self.model.copies.iter().enumerate() {
            if now.fixture == fixture && scratch.in_store[copy] < best.map_or(NEVER, |best| best.1) {
                best = Some((copy, scratch.in_store[copy], None));
            }
        }
        if best.is_some() {
            return best;
        }
        for (pallet, state) in scratch.pallets.iter().enumerate() {
            let is_other = state.copy != NO_COPY
                && self.model.copies[state.copy].fixture == fixture
                && self.model.pallets[pallet].cell != cell
                && !state.is_reserved;
            if is_other && state.free_at < best.map_or(NEVER, |best| best.1) {
                best = Some((state.copy, state.free_at, Some(pallet)));
            }
        }
        best
    }

    /// When hands reach a pallet; in a full cell one that is still in a spindle comes out by an exchange.
    fn free_at(&self, scratch: &Scratch, pallet: usize) -> i64 {
        let state = &scratch.pallets[pallet];
        if state.free_at < NEVER {
            return state.free_at;
        }
        let cell = &self.model.cells[self.model.pallets[pallet].cell];
        if !cell.is_full {
            return NEVER;
        }
        let waiting = scratch.machines.iter().find(|machine| {
            machine.in_spindle != NO_LOAD && scratch.placed[machine.in_spindle].pallet == pallet
        });
        waiting.map_or(NEVER, |machine| {
            let load = machine.in_spindle;
            self.may_come_off(scratch, load, cell) + self.model.loads[load].unload_s
        })
    }
}
