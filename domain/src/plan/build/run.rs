//! The run of a load: on its machine behind all that is there, when every rule lets it start.

use super::cost::counted;
use super::place::Not;
use super::state::NO_LOAD;
use super::{Builder, LeftOut, Scratch, Span};

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
        let cycle_s = self.cycle_s(scratch, index, way);
        let stands_there = cell.is_standalone || scratch.machines[machine].stands == Some(pallet);
        let exchange_s = if stands_there { 0 } else { cell.exchange_s };
        let earliest = (scratch.machines[machine].free_at.max(ready_at) + exchange_s).max(wanted.from);
        let start = if !way.is_cleared || wanted.kind.is_some() {
            cell.attended.fit(earliest, cycle_s)
        } else if cell.is_standalone {
            // Somebody starts each run of a machine without a pool.
            cell.attended.next(earliest)
        } else {
            Some(earliest)
        };
        let start = start.ok_or(Not::Ever(LeftOut::TooFar))?;
        let end = start.saturating_add(cycle_s);
        if end >= crate::plan::model::REACH_S {
            return Err(Not::Ever(LeftOut::TooFar));
        }
        self.take_tools(scratch, way);
        self.give_way(scratch, machine, start);
        scratch.placed[index].run = Span { from: start, to: end };
        self.count_run(scratch, index, machine, pallet);
        scratch.machines[machine].stands = None;
        self.after_run(scratch, index, machine, wanted.kind)
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
        let way = self.way_of(scratch, index, load);
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
        self.count_run(scratch, index, machine, pallet);
        scratch.machines[machine].stands = None;
        if self.after_run(scratch, index, machine, wanted.kind).is_err() {
            scratch.left_out[index] = Some(LeftOut::TooFar);
        }
    }

    /// A load is cut with one of a tool's twins: the first that has enough, as on the floor.
    fn take_tools(&self, scratch: &mut Scratch, way: &crate::plan::model::Way) {
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

    fn count_run(&self, scratch: &mut Scratch, index: usize, machine: usize, pallet: usize) {
        let run = scratch.placed[index].run;
        let (from, to) = counted(self.model);
        scratch.spindle_s += (run.to.min(to) - run.from.max(from)).max(0);
        let last = scratch.machines[machine].last;
        if let Some(before) = &self.before[index] {
            let after = (last != NO_LOAD).then_some(last);
            let is_as_before = (before.machine, before.pallet, before.after) == (machine, pallet, after);
            scratch.moved += u32::from(!is_as_before);
        }
        let state = &mut scratch.machines[machine];
        state.last = index;
        state.free_at = run.to;
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
