//! One load after the other: on which pallet, when it is clamped; then its run, and taking it off.

use super::hands::{Gap, Hands};
use super::state::{GONE, NO_COPY, NO_LOAD};
use super::{Builder, LeftOut, Scratch, Span};
use crate::plan::model::{CellNow, LoadKey, LoadToPlan, NEVER, Phase, Stretches, Way};

/// What keeps a load from being placed now.
pub(super) enum Not {
    /// Its pieces may come from a load that is placed later.
    Yet,
    /// Every pallet that could take it holds a load that is placed later.
    Blocked,
    Ever(LeftOut),
}

impl Builder<'_> {
    /// Places a load, and those that waited for its pieces.
    pub(super) fn place_with_followers(&self, scratch: &mut Scratch, load: usize, choice: u16) {
        scratch.choice_of[load] = choice;
        self.place(scratch, load);
        if matches!(self.model.loads[load].phase, Phase::Ready { .. }) && !scratch.blocked.is_empty() {
            // Its pallet is free again from some time on.
            while let Some(blocked) = scratch.blocked.pop() {
                scratch.left_out[blocked] = None;
                scratch.ready.push(blocked);
            }
        }
        self.place_ready(scratch);
    }

    pub(super) fn place_ready(&self, scratch: &mut Scratch) {
        while let Some(next) = scratch.ready.pop() {
            self.place(scratch, next);
        }
    }

    fn place(&self, scratch: &mut Scratch, index: usize) {
        let load = &self.model.loads[index];
        let placed = match load.phase {
            Phase::ToLoad => self.place_to_load(scratch, index, load),
            Phase::Ready { pallet, from, .. } => self.place_ready_load(scratch, index, load, pallet, from),
            Phase::Running {
                pallet,
                machine,
                started,
                until,
            } => {
                self.place_running(scratch, index, pallet, machine, (started, until));
                Ok(())
            }
            Phase::Cut { pallet, from } => {
                self.place_cut(scratch, index, pallet, from);
                Ok(())
            }
        };
        match placed {
            Ok(()) => {}
            Err(Not::Yet) => Self::wait_for_pieces(scratch, index, load.pieces[0].0),
            Err(Not::Blocked) => {
                let is_gone = scratch.pallets.iter().any(|pallet| pallet.free_at == GONE);
                let why = if is_gone { LeftOut::TooFar } else { LeftOut::NoWay };
                scratch.left_out[index] = Some(why);
                scratch.blocked.push(index);
            }
            Err(Not::Ever(why)) => self.leave_out(scratch, index, why),
        }
    }

    /// Behind those that wait for pieces of the same step.
    fn wait_for_pieces(scratch: &mut Scratch, load: usize, step: usize) {
        scratch.left_out[load] = Some(LeftOut::Pieces);
        scratch.next_waiting[load] = NO_LOAD;
        let state = &mut scratch.steps[step];
        match state.last_waiting {
            NO_LOAD => state.waiting = load,
            last => scratch.next_waiting[last] = load,
        }
        state.last_waiting = load;
    }

    pub(super) fn way_of(scratch: &Scratch, index: usize, load: &LoadToPlan) -> Option<usize> {
        if load.ways == 0 {
            return None;
        }
        Some(load.first_way + usize::from(scratch.choice_of[index]) % load.ways)
    }

    pub(super) fn cycle_s(scratch: &Scratch, index: usize, way: &Way) -> i64 {
        scratch.cycle_s.get(index).copied().unwrap_or(way.cycle_s)
    }

    fn place_to_load(&self, scratch: &mut Scratch, index: usize, load: &LoadToPlan) -> Result<(), Not> {
        let way_index = Self::way_of(scratch, index, load).ok_or(Not::Ever(LeftOut::NoWay))?;
        let way = &self.model.ways[way_index];
        let cell_index = self.model.machines[way.machine].cell;
        let (step, pieces) = load.pieces[0];
        let is_rework = matches!(load.key, LoadKey::ToForm { rework: true, .. });
        let pieces_at = if is_rework {
            0
        } else {
            let move_s = self.model.move_between_cells_s;
            let ready = scratch.piles.ready_at(step, pieces, Some(cell_index), move_s);
            ready.ok_or(Not::Yet)?
        };
        if pieces_at >= NEVER {
            return Err(Not::Ever(LeftOut::Pieces));
        }
        self.has_tools(scratch, way)?;
        let seat = self
            .seat(scratch, cell_index, way, pieces_at)
            .ok_or(Not::Blocked)?;
        let wanted = self.wanted(scratch, step, seat.pallet, seat.setup_after(scratch), way.machine);
        let cell = &self.model.cells[cell_index];
        let cycle_s = Self::cycle_s(scratch, index, way);
        Self::can_be_attended(cell, way.is_cleared && wanted.kind.is_none(), cycle_s)?;
        self.free_the_pallet(scratch, seat.pallet, cell_index);
        if let Some(machine) = self.model.pallets[seat.pallet].at_spindle {
            // It comes out to be loaded, and is brought back by an exchange.
            scratch.machines[machine].stands = None;
        }
        scratch.placed[index].way = Some(way_index);
        scratch.placed[index].pallet = seat.pallet;
        scratch.placed[index].mount = self.mount(scratch, cell, way, &seat)?;
        let loaded = self.clamp(scratch, cell, seat.pallet, load.load_s, pieces_at)?;
        if !is_rework {
            scratch.piles.take(step, pieces);
        }
        let placed = &mut scratch.placed[index];
        placed.load = loaded;
        placed.copy = scratch.pallets[seat.pallet].copy;
        self.run(scratch, index, loaded.to)
    }

    /// It stands on its pallet already.
    fn place_ready_load(
        &self,
        scratch: &mut Scratch,
        index: usize,
        load: &LoadToPlan,
        pallet: usize,
        from: i64,
    ) -> Result<(), Not> {
        let way_index = Self::way_of(scratch, index, load).ok_or(Not::Ever(LeftOut::NoWay))?;
        let way = &self.model.ways[way_index];
        self.has_tools(scratch, way)?;
        let cell = &self.model.cells[self.model.machines[way.machine].cell];
        let is_wanted = load.pieces.iter().any(|(step, _)| {
            let setup = scratch.pallets[pallet].setup;
            self.wanted(scratch, *step, pallet, setup, way.machine)
                .kind
                .is_some()
        });
        let cycle_s = Self::cycle_s(scratch, index, way);
        Self::can_be_attended(cell, way.is_cleared && !is_wanted, cycle_s)?;
        let placed = &mut scratch.placed[index];
        placed.way = Some(way_index);
        placed.pallet = pallet;
        placed.copy = scratch.pallets[pallet].copy;
        // Nothing else is clamped on the pallet before it has been cut and taken off.
        scratch.pallets[pallet].free_at = NEVER;
        self.run(scratch, index, from)
    }

    /// What nobody may leave alone has to end while somebody is there.
    fn can_be_attended(cell: &CellNow, may_run_alone: bool, cycle_s: i64) -> Result<(), Not> {
        if may_run_alone || cycle_s <= cell.longest_attended_s {
            return Ok(());
        }
        Err(Not::Ever(LeftOut::TooLongToAttend))
    }

    fn has_tools(&self, scratch: &Scratch, way: &Way) -> Result<(), Not> {
        for need_index in way.first_need..way.first_need + way.needs {
            let need = &self.model.needs[need_index];
            let twins = &self.model.twins[need.first_twin..need.first_twin + need.twins];
            let most = twins
                .iter()
                .map(|twin| scratch.tool_life[*twin])
                .max()
                .unwrap_or(0);
            if most < need.needed_s {
                let short_s = need.needed_s - most;
                return Err(Not::Ever(LeftOut::Tool {
                    need: need_index,
                    short_s,
                }));
            }
        }
        Ok(())
    }

    /// The fixture onto the pallet, if it is not on it: by one person at a load station.
    fn mount(
        &self,
        scratch: &mut Scratch,
        cell: &CellNow,
        way: &Way,
        seat: &super::pallets::Seat,
    ) -> Result<Span, Not> {
        let Some(copy) = seat.mounts else {
            return Ok(Span::NONE);
        };
        let mount_s = self.model.fixtures[way.fixture].mount_s;
        let from = seat.mount_from.max(scratch.pallets[seat.pallet].free_at);
        let span = self.by_hand(scratch, cell, from, mount_s)?;
        let pallet = &mut scratch.pallets[seat.pallet];
        let off = std::mem::replace(&mut pallet.copy, copy);
        pallet.free_at = span.to;
        pallet.setup += 1;
        if off != NO_COPY {
            scratch.in_store[off] = span.from;
        }
        scratch.in_store[copy] = NEVER;
        if let Some(other) = seat.taken_from {
            scratch.pallets[other].copy = NO_COPY;
            scratch.pallets[other].free_at = scratch.pallets[other].free_at.max(span.from);
        }
        scratch.changes += 1;
        Ok(span)
    }

    fn clamp(
        &self,
        scratch: &mut Scratch,
        cell: &CellNow,
        pallet: usize,
        load_s: i64,
        pieces_at: i64,
    ) -> Result<Span, Not> {
        let from = scratch.pallets[pallet].free_at.max(pieces_at);
        let span = self.by_hand(scratch, cell, from, load_s)?;
        let state = &mut scratch.pallets[pallet];
        state.is_reserved = false;
        state.free_at = NEVER;
        Ok(span)
    }

    /// The first time from `from` on at which one person, and a load station where they are few, is free for all of it.
    pub(super) fn by_hand(
        &self,
        scratch: &mut Scratch,
        cell: &CellNow,
        from: i64,
        length_s: i64,
    ) -> Result<Span, Not> {
        let people = &self.model.crews[cell.crew].people;
        let mut from = from;
        loop {
            let gap = first_gap(&scratch.crews[cell.crew], people, from, length_s)?;
            if let Some(stations) = cell.load_stations {
                let hands = &scratch.stations[cell.index];
                let free = (0..stations)
                    .filter_map(|station| hands.fit(station, &scratch.always, gap.from, length_s));
                let station = free
                    .min_by_key(|gap| gap.from)
                    .ok_or(Not::Ever(LeftOut::TooFar))?;
                if station.from > gap.from {
                    from = station.from;
                    continue;
                }
                scratch.stations[cell.index].take(station, &scratch.always, length_s);
            }
            scratch.crews[cell.crew].take(gap, &people[gap.one], length_s);
            return Ok(Span {
                from: gap.from,
                to: gap.from + length_s,
            });
        }
    }
}

/// Of the person who is free first; nobody is looked at any more once one is free at once.
fn first_gap(hands: &Hands, people: &[Stretches], from: i64, length_s: i64) -> Result<Gap, Not> {
    let mut first: Option<Gap> = None;
    for (person, stretches) in people.iter().enumerate() {
        let gap = hands.fit(person, stretches, from, length_s);
        first = match (first, gap) {
            (Some(known), Some(gap)) if gap.from >= known.from => Some(known),
            (known, gap) => gap.or(known),
        };
        if first.is_some_and(|gap| gap.from == from) {
            break;
        }
    }
    first.ok_or(Not::Ever(LeftOut::TooFar))
}
