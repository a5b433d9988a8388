//! What is judged, and what all rules ask of it.

use super::Fault;
use crate::calendar::{self, CalendarVersions, shifts_in};
use crate::cell::{Cell, CellKind};
use crate::ids::{CellId, MachineId, PalletId};
use crate::load::Stage;
use crate::plan::model::{LoadKey, PlanOptions};
use crate::plan::schedule::{Schedule, ScheduledLoad};
use crate::shop::Shop;
use crate::site::Site;
use crate::time::{Timestamp, Window};
use std::collections::BTreeMap;

pub(super) struct Case<'a> {
    pub shop: &'a Shop,
    pub site: &'a Site,
    pub options: &'a PlanOptions,
    pub now: Timestamp,
    pub schedule: &'a Schedule,
    /// From the schedule's beginning until after its last moment.
    pub whole: Window,
    /// When somebody is there, by cell; `None`: nobody has told of a calendar.
    attended: BTreeMap<CellId, Option<Vec<Window>>>,
    pub faults: Vec<Fault>,
}

impl<'a> Case<'a> {
    pub fn new(
        shop: &'a Shop,
        site: &'a Site,
        options: &'a PlanOptions,
        now: Timestamp,
        schedule: &'a Schedule,
    ) -> Self {
        let ends = schedule.loads.iter().flat_map(|load| {
            [load.mount, load.load, load.run, load.inspection, load.unload]
                .into_iter()
                .flatten()
                .map(|window| window.to)
        });
        let held = schedule.judged.iter().map(|judged| judged.inspection.to);
        let last = ends.chain(held).max().unwrap_or(schedule.from);
        let whole = Window::new(schedule.from, last.plus_s(86_400));
        let attended = shop.cells.values().map(|cell| {
            let calendar = shop.calendar_of(cell.id).filter(|calendar| !calendar.is_empty());
            let windows = calendar.map(|calendar| calendar::attended(calendar, site.zone, whole));
            (cell.id, windows)
        });
        Self {
            attended: attended.collect(),
            shop,
            site,
            options,
            now,
            schedule,
            whole,
            faults: Vec::new(),
        }
    }

    pub fn fault(&mut self, rule: &'static str, text: String) {
        self.faults.push(Fault { rule, text });
    }

    pub fn unless(&mut self, holds: bool, rule: &'static str, text: impl FnOnce() -> String) {
        if !holds {
            self.fault(rule, text());
        }
    }

    pub fn cell(&self, load: &ScheduledLoad) -> Option<&'a Cell> {
        self.shop.cells.get(&load.cell)
    }

    pub fn exchange_s(&self, cell: CellId) -> i64 {
        match self.shop.cells.get(&cell).map(|cell| cell.kind) {
            Some(CellKind::Pool { exchange_s, .. }) => i64::from(exchange_s),
            _ => 0,
        }
    }

    pub fn is_standalone(&self, cell: CellId) -> bool {
        self.shop.cells.get(&cell).map(|cell| cell.kind) == Some(CellKind::Standalone)
    }

    /// The loads of each machine in the order of their runs.
    pub fn by_machine(&self) -> BTreeMap<MachineId, Vec<&'a ScheduledLoad>> {
        let mut by_machine: BTreeMap<_, Vec<_>> = BTreeMap::new();
        for load in &self.schedule.loads {
            if let (Some(machine), Some(_)) = (load.machine, load.run) {
                by_machine.entry(machine).or_default().push(load);
            }
        }
        for loads in by_machine.values_mut() {
            loads.sort_by_key(|load: &&ScheduledLoad| load.run.map(|run| run.from));
        }
        by_machine
    }

    pub fn by_pallet(&self) -> BTreeMap<PalletId, Vec<&'a ScheduledLoad>> {
        let mut by_pallet: BTreeMap<_, Vec<_>> = BTreeMap::new();
        for load in &self.schedule.loads {
            by_pallet.entry(load.pallet).or_default().push(load);
        }
        for loads in by_pallet.values_mut() {
            loads.sort_by_key(|load: &&ScheduledLoad| starts_at(load, self.schedule.from));
        }
        by_pallet
    }

    /// The stage of a load that stands on a pallet now.
    pub fn stage(&self, key: LoadKey) -> Option<Stage> {
        let LoadKey::Standing(id) = key else { return None };
        let mut loads = self
            .shop
            .pallets
            .values()
            .filter_map(|pallet| pallet.load.as_ref());
        loads.find(|load| load.id == id).map(|load| load.stage)
    }

    pub fn is_running(&self, load: &ScheduledLoad) -> bool {
        matches!(self.stage(load.key), Some(Stage::InRun { .. }))
    }

    pub fn calendar(&self, cell: CellId) -> &'a CalendarVersions {
        self.shop.calendar_of(cell).unwrap_or(&self.site.calendar)
    }

    /// Somebody is there all the time.
    pub fn is_attended(&self, cell: CellId, window: Window) -> bool {
        match self.attended.get(&cell) {
            Some(Some(windows)) => windows.iter().any(|attended| attended.encloses(window)),
            _ => true,
        }
    }

    /// Shifts without their breaks, with how many people are there.
    pub fn staffed(&self, calendar: &CalendarVersions) -> Vec<(Window, u32)> {
        if calendar.is_empty() {
            return vec![(self.whole, 1)];
        }
        let mut staffed = Vec::new();
        for shift in shifts_in(calendar, self.site.zone, self.whole) {
            let headcount = self.site.people.headcount.iter();
            let counted = headcount
                .filter(|one| one.shift == shift.name)
                .map(|one| one.people);
            let people = counted.max().unwrap_or(1);
            let mut from = shift.window.from;
            for pause in &shift.breaks {
                staffed.push((Window::new(from, pause.from), people));
                from = pause.to;
            }
            staffed.push((Window::new(from, shift.window.to), people));
        }
        staffed
    }
}

/// When its pallet is taken for it.
pub(super) fn starts_at(load: &ScheduledLoad, from: Timestamp) -> Timestamp {
    let first = load.mount.or(load.load).map(|window| window.from);
    first.unwrap_or(from)
}

pub(super) fn named(key: LoadKey) -> String {
    match key {
        LoadKey::Standing(load) => format!("load {load}"),
        LoadKey::ToForm {
            job,
            operation,
            from_last,
            ..
        } => format!("load {from_last} before the last of job {job}, operation {operation}"),
    }
}
