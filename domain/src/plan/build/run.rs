//! The run of a load: on its machine behind all that is there, when every rule lets it start.

use super::cost::counted;
use super::place::Not;
use super::state::{GAPS_MAX, NO_LOAD, SpindleGap};
use super::{Builder, LeftOut, Scratch, Span};
use crate::plan::model::{CellNow, REACH_S, Way};

/// A run that wants a place on a machine.
#[derive(Clone, Copy)]
struct Wish {
    index: usize,
    machine: usize,
    earliest: i64,
    cycle_s: i64,
    /// Somebody has to be there from its start to its end.
    needs_people: bool,
}

impl Builder<'_> {
    /// The load stands ready on its pallet from `ready_at` on.
    pub(super) fn run(&self, scratch: &mut Scratch, index: usize, ready_at: i64) -> Result<(), Not> {
        let placed = scratch.placed[index];
        let Some(way) = placed.way.map(|way| &self.model.ways[way]) else {
            return Err(Not::Ever(LeftOut::NoWay));
        };
        let (machine, pallet) = (way.machine, placed.pallet);
        let cell = &self.model.cells[self.model.machines[machine].cell];
        let wanted = self.wanted_of_load(scratch, index, pallet, machine);
        let cycle_s = Self::cycle_s(scratch, index, way);
        let stands_there =
            cell.is_standalone || self.starts_where_it_stands(scratch, index, machine, pallet, ready_at);
        let exchange_s = if stands_there { 0 } else { cell.exchange_s };
        let wish = Wish {
            index,
            machine,
            earliest: (ready_at + exchange_s).max(wanted.from),
            cycle_s,
            needs_people: !way.is_cleared || wanted.kind.is_some(),
        };
        let goes_into_gaps = !cell.is_full && !stands_there && self.tools_tell_no_order(way);
        let in_gap = if goes_into_gaps {
            Self::fill_gap(scratch, cell, wish)
        } else {
            None
        };
        let start = match in_gap {
            Some(start) => start,
            None => self.behind(scratch, cell, wish, exchange_s, !stands_there)?,
        };
        let end = start.saturating_add(cycle_s);
        self.take_tools(scratch, way);
        if in_gap.is_none() {
            self.give_way(scratch, machine, start);
            scratch.machines[machine].stands = None;
        }
        scratch.placed[index].run = Span { from: start, to: end };
        self.count_run(scratch, index);
        self.after_run(scratch, index, machine, wanted.kind)
    }

    /// It stands in the spindle already, and a load that is not held back by a rule: else it gives way to others.
    fn starts_where_it_stands(
        &self,
        scratch: &Scratch,
        index: usize,
        machine: usize,
        pallet: usize,
        ready_at: i64,
    ) -> bool {
        let state = &scratch.machines[machine];
        if state.stands != Some(pallet) {
            return false;
        }
        let Some(way) = scratch.placed[index].way.map(|way| &self.model.ways[way]) else {
            return false;
        };
        let cell = &self.model.cells[self.model.machines[machine].cell];
        let wanted = self.wanted_of_load(scratch, index, pallet, machine);
        let wish = Wish {
            index,
            machine,
            earliest: wanted.from,
            cycle_s: Self::cycle_s(scratch, index, way),
            needs_people: !way.is_cleared || wanted.kind.is_some(),
        };
        Self::start_from(cell, wish, state.free_at.max(wanted.from).max(ready_at)) == Some(state.free_at)
    }

    /// When the run could start at the earliest by the people, from `from` on.
    fn start_from(cell: &CellNow, wish: Wish, from: i64) -> Option<i64> {
        let start = if wish.needs_people {
            cell.attended.fit(from, wish.cycle_s)
        } else if cell.is_standalone {
            // Somebody starts each run of a machine without a pool.
            cell.attended.next(from)
        } else {
            Some(from)
        };
        start.filter(|start| start.saturating_add(wish.cycle_s) < REACH_S)
    }

    /// Behind all that is there; the time before it becomes a gap.
    fn behind(
        &self,
        scratch: &mut Scratch,
        cell: &CellNow,
        wish: Wish,
        exchange_s: i64,
        leaves_gap: bool,
    ) -> Result<i64, Not> {
        let state = scratch.machines[wish.machine];
        let from = (state.free_at + exchange_s).max(wish.earliest);
        let start = Self::start_from(cell, wish, from);
        let start = start.ok_or(Not::Ever(LeftOut::TooFar))?;
        let is_movable = wish.index >= self.model.fixed;
        let gaps = &mut scratch.gaps[wish.machine];
        if leaves_gap && is_movable && start > state.free_at + 2 * cell.exchange_s && gaps.len() < GAPS_MAX {
            gaps.push(SpindleGap {
                from: state.free_at,
                to: start,
                before: wish.index,
            });
        }
        scratch.after[wish.index] = state.last;
        let state = &mut scratch.machines[wish.machine];
        state.last = wish.index;
        state.free_at = start.saturating_add(wish.cycle_s);
        Ok(start)
    }

    /// Into the first gap that takes it with an exchange before and after it.
    fn fill_gap(scratch: &mut Scratch, cell: &CellNow, wish: Wish) -> Option<i64> {
        for place in 0..scratch.gaps[wish.machine].len() {
            let gap = scratch.gaps[wish.machine][place];
            let from = (gap.from + cell.exchange_s).max(wish.earliest);
            if from + wish.cycle_s + cell.exchange_s > gap.to {
                continue;
            }
            let start = Self::start_from(cell, wish, from);
            let Some(start) = start.filter(|start| start + wish.cycle_s + cell.exchange_s <= gap.to) else {
                continue;
            };
            scratch.after[wish.index] = std::mem::replace(&mut scratch.after[gap.before], wish.index);
            let gaps = &mut scratch.gaps[wish.machine];
            gaps[place].from = start + wish.cycle_s;
            if start > gap.from + 2 * cell.exchange_s && gaps.len() < GAPS_MAX {
                let before = SpindleGap {
                    from: gap.from,
                    to: start,
                    before: wish.index,
                };
                gaps.insert(place, before);
            }
            return Some(start);
        }
        None
    }

    /// With twins it matters which load comes first.
    fn tools_tell_no_order(&self, way: &Way) -> bool {
        let needs = &self.model.needs[way.first_need..way.first_need + way.needs];
        needs.iter().all(|need| need.twins <= 1)
    }

    pub(super) fn place_running(
        &self,
        scratch: &mut Scratch,
        index: usize,
        pallet: usize,
        machine: usize,
        (started, until): (i64, i64),
    ) {
        let load = &self.model.loads[index];
        let way = Self::way_of(scratch, index, load);
        let placed = &mut scratch.placed[index];
        placed.way = way;
        placed.pallet = pallet;
        placed.copy = scratch.pallets[pallet].copy;
        // Its end may be drawn anew, never before now.
        let until = match scratch.cycle_s.get(index) {
            Some(cycle_s) => started.saturating_add(*cycle_s).max(0),
            None => until,
        };
        scratch.placed[index].run = Span {
            from: started,
            to: until,
        };
        scratch.pallets[pallet].free_at = crate::plan::model::NEVER;
        if let Some(way) = way {
            self.take_tools(scratch, &self.model.ways[way]);
        }
        let wanted = self.wanted_of_load(scratch, index, pallet, machine);
        self.count_run(scratch, index);
        scratch.machines[machine].stands = None;
        scratch.machines[machine].last = index;
        scratch.machines[machine].free_at = scratch.placed[index].run.to;
        if self.after_run(scratch, index, machine, wanted.kind).is_err() {
            self.leave_out(scratch, index, LeftOut::TooFar);
        }
    }

    /// A load is cut with one of a tool's twins: the first that has enough, as on the floor.
    fn take_tools(&self, scratch: &mut Scratch, way: &Way) {
        for need in &self.model.needs[way.first_need..way.first_need + way.needs] {
            let twins = &self.model.twins[need.first_twin..need.first_twin + need.twins];
            let enough = twins
                .iter()
                .find(|twin| scratch.tool_life[**twin] >= need.needed_s);
            let best = twins.iter().rev().max_by_key(|twin| scratch.tool_life[**twin]);
            if let Some(twin) = enough.or(best) {
                scratch.tool_life[*twin] = (scratch.tool_life[*twin] - need.needed_s).max(0);
            }
        }
    }

    fn count_run(&self, scratch: &mut Scratch, index: usize) {
        let run = scratch.placed[index].run;
        scratch.spindle_s += self.counted_s(run);
        scratch.starts_s += run.from.max(0);
    }

    /// The part of a run that counts as spindle time.
    pub(super) fn counted_s(&self, run: Span) -> i64 {
        let (from, to) = counted(self.model);
        (run.to.min(to) - run.from.max(from)).max(0)
    }

    /// Loads that are elsewhere, or after something else, than in the last plan.
    pub(super) fn moved(&self, scratch: &Scratch) -> u32 {
        let is_moved = |index: &usize| {
            let placed = &scratch.placed[*index];
            let Some((before, way)) = self.before[*index].zip(placed.way.filter(|_| placed.run.is_some()))
            else {
                return false;
            };
            let after = Some(scratch.after[*index]).filter(|after| *after != NO_LOAD);
            let now = (self.model.ways[way].machine, placed.pallet, after);
            (before.machine, before.pallet, before.after) != now
        };
        let moved = (0..self.before.len()).filter(is_moved).count();
        u32::try_from(moved).unwrap_or(u32::MAX)
    }

    fn after_run(
        &self,
        scratch: &mut Scratch,
        index: usize,
        machine: usize,
        wanted: Option<crate::load::HoldKind>,
    ) -> Result<(), Not> {
        let run = scratch.placed[index].run;
        if let Some(kind) = wanted {
            let span = self.inspect(scratch, index, kind, run.to);
            let placed = &mut scratch.placed[index];
            placed.held_as = Some(kind);
            placed.inspection = span.ok_or(Not::Ever(LeftOut::TooFar))?;
        }
        scratch.placed[index].is_placed = true;
        let cell = &self.model.cells[self.model.machines[machine].cell];
        if cell.is_full {
            scratch.machines[machine].in_spindle = index;
            return Ok(());
        }
        let from = self.may_come_off(scratch, index, cell);
        self.take_off(scratch, index, from)
    }
}
