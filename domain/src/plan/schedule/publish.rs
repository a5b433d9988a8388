//! What goes on from a schedule: slots for the published plan, spindle time by shift, and what the next plan compares with.

use super::Schedule;
use crate::calendar::{ShiftInstance, shifts_in};
use crate::ids::{CellId, MachineId};
use crate::plan::model::{LastPlan, LoadKey};
use crate::plan::{PlannedLine, PlannedLoad, Slot};
use crate::shop::Shop;
use crate::site::Site;
use crate::time::{US_PER_SECOND, Window};
use std::collections::BTreeMap;

impl Schedule {
    /// The runs that begin before the horizon, by machine and start. What is in a spindle already is no plan any more.
    pub fn slots(&self) -> Vec<Slot> {
        let ahead = self.loads.iter().filter_map(|load| {
            let (machine, run) = (load.machine?, load.run?);
            let is_ahead = self.from <= run.from && run.from < self.until;
            let cycle_s = u32::try_from(run.us() / US_PER_SECOND).ok()?;
            (is_ahead && cycle_s > 0).then_some(Slot {
                machine,
                starts_at: run.from,
                cycle_s,
            })
        });
        let mut slots: Vec<_> = ahead.collect();
        slots.sort_by_key(|slot| (slot.machine, slot.starts_at));
        slots
    }

    /// The loads that run before the horizon, by machine and start; among them what is in a spindle already.
    pub fn planned_loads(&self) -> Vec<PlannedLoad> {
        let ahead = self.loads.iter().filter_map(|load| {
            let (machine, run) = (load.machine?, load.run?);
            (run.from < self.until).then(|| PlannedLoad {
                key: load.key,
                machine,
                pallet: load.pallet,
                fixture: load.fixture,
                clamped: load.clamped.clone(),
                load: load.load,
                run,
                unload: load.unload,
            })
        });
        let mut loads: Vec<_> = ahead.collect();
        loads.sort_by_key(|load| (load.machine, load.run));
        loads
    }

    pub fn planned_lines(&self) -> Vec<PlannedLine> {
        let line = |line: &super::ScheduledLine| PlannedLine {
            order: line.order,
            line: line.line,
            complete: line.complete,
        };
        self.lines.iter().map(line).collect()
    }

    /// Of a cell, until the horizon: each shift and how long its spindles are meant to cut in it; at last what lies between
    /// the shifts.
    pub fn spindle_by_shift(
        &self,
        shop: &Shop,
        site: &Site,
        cell: CellId,
    ) -> (Vec<(ShiftInstance, i64)>, i64) {
        let horizon = Window::new(self.from, self.until);
        let runs = self.loads.iter().filter(|load| load.cell == cell);
        let runs: Vec<Window> = runs.filter_map(|load| load.run?.overlap(horizon)).collect();
        let cut_s = |window: Window| -> i64 {
            let parts = runs.iter().filter_map(|run| run.overlap(window));
            parts.map(|part| part.us() / US_PER_SECOND).sum()
        };
        let calendar = shop.calendar_of(cell).unwrap_or(&site.calendar);
        let shifts: Vec<_> = shifts_in(calendar, site.zone, horizon)
            .into_iter()
            .map(|shift| {
                let seconds = cut_s(shift.window);
                (shift, seconds)
            })
            .collect();
        let between_s = cut_s(horizon) - shifts.iter().map(|(_, seconds)| seconds).sum::<i64>();
        (shifts, between_s)
    }
}

/// What the next plan is compared with.
pub fn as_last(loads: &[PlannedLoad]) -> BTreeMap<LoadKey, LastPlan> {
    let mut before: BTreeMap<MachineId, LoadKey> = BTreeMap::new();
    let mut runs: Vec<_> = loads.iter().collect();
    runs.sort_by_key(|load| (load.machine, load.run));
    let last = runs.into_iter().map(|load| {
        let after = before.insert(load.machine, load.key);
        let last = LastPlan {
            machine: load.machine,
            pallet: load.pallet,
            after,
        };
        (load.key, last)
    });
    last.collect()
}
