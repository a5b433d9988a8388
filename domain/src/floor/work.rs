//! What the routings of the jobs say about pieces on the floor.

use super::pieces;
use crate::calendar;
use crate::code::Code;
use crate::ids::{CellId, JobId, MachineId};
use crate::load::Clamped;
use crate::machine::MachineTool;
use crate::part::{CycleTime, Machining, Place};
use crate::shop::Shop;
use crate::time::{Timestamp, Window};
use std::collections::BTreeMap;

pub fn machining(shop: &Shop, job: JobId, operation: u16) -> Option<&Machining> {
    pieces::machined(shop.jobs.get(&job)?)
        .find_map(|(number, machining)| (number == operation).then_some(machining))
}

pub fn place(shop: &Shop, job: JobId, operation: u16, cell: CellId) -> Option<&Place> {
    let machining = machining(shop, job, operation)?;
    machining.places.iter().find(|place| place.cell == cell)
}

/// Each job operation once, with all its pieces.
pub fn by_operation(clamped: &[Clamped]) -> BTreeMap<(JobId, u16), u32> {
    let mut pieces = BTreeMap::new();
    for one in clamped {
        let sum = pieces.entry((one.job, one.operation)).or_insert(0_u32);
        *sum = sum.saturating_add(one.pieces);
    }
    pieces
}

/// How long the programs of a load take.
pub fn cycle_s(shop: &Shop, clamped: &[Clamped], cell: CellId) -> u64 {
    let of = |((job, operation), pieces): ((JobId, u16), u32)| {
        place(shop, job, operation, cell).map_or(0, |place| place.cycle.of_load_s(pieces))
    };
    by_operation(clamped).into_iter().map(of).sum()
}

/// The first operation of the load that does not run on this machine.
pub fn not_on(shop: &Shop, clamped: &[Clamped], cell: CellId, machine: MachineId) -> Option<Clamped> {
    let runs =
        |one: &&Clamped| place(shop, one.job, one.operation, cell).is_some_and(|place| place.takes(machine));
    clamped.iter().find(|one| !runs(one)).copied()
}

/// The first operation of the load that may not run on this machine with nobody there.
pub fn not_cleared(shop: &Shop, clamped: &[Clamped], cell: CellId, machine: MachineId) -> Option<Clamped> {
    let is_cleared = |one: &&Clamped| {
        place(shop, one.job, one.operation, cell).is_some_and(|place| place.is_cleared_on(machine))
    };
    clamped.iter().find(|one| !is_cleared(one)).copied()
}

/// Whether somebody is there, breaks included. Before a shop has a calendar nobody can tell, and whoever acts is there.
pub fn is_attended(shop: &Shop, cell: CellId, at: Timestamp) -> bool {
    let (Some(site), Some(versions)) = (&shop.site, shop.calendar_of(cell)) else {
        return true;
    };
    let instant = Window::new(at, at.plus_us(1));
    versions.is_empty() || !calendar::attended(versions, site.zone, instant).is_empty()
}

/// Of each tool, how much of its life the load takes: a program for the whole load the same whatever is in it, one for
/// each piece by pieces, rounded up.
pub fn tool_use(shop: &Shop, clamped: &[Clamped], cell: CellId) -> BTreeMap<Code, u64> {
    let mut needed = BTreeMap::new();
    for ((job, operation), pieces) in by_operation(clamped) {
        let (Some(place), Some(machining)) =
            (place(shop, job, operation, cell), machining(shop, job, operation))
        else {
            continue;
        };
        let full = u64::from(machining.pieces_per_load.max(1));
        for tool in &place.tools {
            let whole = u64::from(tool.used_s_per_load);
            let used_s = match place.cycle {
                CycleTime::PerLoad { .. } => whole,
                CycleTime::PerPiece { .. } => (whole * u64::from(pieces)).div_ceil(full),
            };
            *needed.entry(tool.tool.clone()).or_insert(0) += used_s;
        }
    }
    needed
}

/// A tool that is too worn for a load.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Short {
    pub tool: Code,
    pub needed_s: u64,
    /// What the best of its twins has left.
    pub left_s: u32,
}

impl Short {
    pub fn short_s(&self) -> u64 {
        self.needed_s.saturating_sub(u64::from(self.left_s))
    }
}

/// A load is cut with one of a tool's twins from beginning to end: what is left in two halves is not enough. A machine
/// without a list of tools is not judged.
pub fn short_tool(tools: &[MachineTool], needed: &BTreeMap<Code, u64>) -> Option<Short> {
    if tools.is_empty() {
        return None;
    }
    needed.iter().find_map(|(tool, needed_s)| {
        let left_s = best_twin(tools, tool).map_or(0, |index| tools[index].life_left_s);
        (u64::from(left_s) < *needed_s).then(|| Short {
            tool: tool.clone(),
            needed_s: *needed_s,
            left_s,
        })
    })
}

/// What is left after the load: taken from the first twin that has enough, else from the best.
pub fn take_tool_life(tools: &mut [MachineTool], needed: &BTreeMap<Code, u64>) {
    for (tool, needed_s) in needed {
        let enough = tools
            .iter()
            .position(|twin| twin.tool.is_spoken_like(tool) && u64::from(twin.life_left_s) >= *needed_s);
        if let Some(index) = enough.or_else(|| best_twin(tools, tool)) {
            let left = u64::from(tools[index].life_left_s).saturating_sub(*needed_s);
            tools[index].life_left_s = u32::try_from(left).unwrap_or(u32::MAX);
        }
    }
}

/// The other way round: to the first twin from which taking the load's use would give what is there now.
pub fn give_back_tool_life(tools: &mut [MachineTool], needed: &BTreeMap<Code, u64>) {
    for (tool, needed_s) in needed {
        let one = BTreeMap::from([(tool.clone(), *needed_s)]);
        let back = (0..tools.len()).filter(|twin| tools[*twin].tool.is_spoken_like(tool));
        let whole = |twin: usize| {
            let mut before = tools.to_vec();
            let left_s = u64::from(before[twin].life_left_s).saturating_add(*needed_s);
            before[twin].life_left_s = u32::try_from(left_s).unwrap_or(u32::MAX);
            before
        };
        let mut candidates = back.map(whole).collect::<Vec<_>>().into_iter();
        let is_right = |before: &Vec<MachineTool>| {
            let mut after = before.clone();
            take_tool_life(&mut after, &one);
            after == tools
        };
        if let Some(before) = candidates.find(is_right) {
            tools.clone_from_slice(&before);
        }
    }
}

fn best_twin(tools: &[MachineTool], tool: &Code) -> Option<usize> {
    let twins = tools
        .iter()
        .enumerate()
        .filter(|(_, twin)| twin.tool.is_spoken_like(tool));
    twins
        .max_by_key(|(_, twin)| twin.life_left_s)
        .map(|(index, _)| index)
}
