//! The loads that are still to be formed: full ones first, the last with what is left.

use super::standing::share_s;
use super::take::Taking;
use super::{LoadKey, LoadToPlan, Phase, Way};
use crate::floor::pieces::{machined, open_jobs};
use crate::floor::work;
use crate::job::Job;
use crate::load::Clamped;
use crate::part::Machining;

impl Taking<'_> {
    pub(super) fn take_loads_to_form(&mut self) {
        let shop = self.shop;
        let mut jobs: Vec<_> = open_jobs(shop).collect();
        let place = |job: &Job| {
            self.step_of
                .get(&(job.id, job.operations.first().map_or(0, |at| at.number)))
        };
        jobs.sort_by_key(|job| place(job).copied());
        for job in jobs {
            for (operation, machining) in machined(job) {
                self.take_operation(job, operation, machining);
            }
        }
    }

    fn take_operation(&mut self, job: &Job, operation: u16, machining: &Machining) {
        let Some(at) = job.at(operation) else { return };
        let to_run = job.pieces_to_run(operation).saturating_sub(at.clamped);
        // Pieces to be put right are clamped apart from others.
        let rework = at.rework.min(to_run);
        self.take_loads(job, operation, machining, rework, true);
        self.take_loads(job, operation, machining, to_run - rework, false);
    }

    fn take_loads(&mut self, job: &Job, operation: u16, machining: &Machining, pieces: u32, rework: bool) {
        let full = machining.pieces_per_load.max(1);
        let loads = pieces.div_ceil(full);
        for number in 0..loads {
            let in_it = full.min(pieces - number * full);
            let clamped = Clamped {
                job: job.id,
                operation,
                pieces: in_it,
                rework,
            };
            let key = LoadKey::ToForm {
                job: job.id,
                operation,
                rework,
                from_last: loads - 1 - number,
            };
            let first_way = self.model.ways.len();
            self.take_ways_to_form(machining, clamped);
            let mut load = LoadToPlan {
                key,
                clamped: vec![clamped],
                pieces: vec![(self.step_of[&(job.id, operation)], in_it)],
                phase: Phase::ToLoad,
                load_s: share_s(machining.load_s, in_it, full),
                unload_s: share_s(machining.unload_s, in_it, full),
                first_way,
                ways: self.model.ways.len() - first_way,
                due: i64::MAX,
                weight: 1,
                last: self.last_of(key),
            };
            self.take_urgency(&mut load);
            self.model.loads.push(load);
        }
    }

    /// Every machine with every fixture, where a pallet of the machine's cell carries the fixture; rework or not, the
    /// program is the same.
    fn take_ways_to_form(&mut self, machining: &Machining, clamped: Clamped) {
        for stays_mounted in [false, true] {
            for place in &machining.places {
                let Some(cell) = self.cell_index(place.cell) else {
                    continue;
                };
                for machine in 0..self.model.machines.len() {
                    let at = self.model.machines[machine];
                    if at.cell != cell || at.is_down || !place.takes(at.id) {
                        continue;
                    }
                    let needed = work::tool_use(self.shop, &[clamped], place.cell);
                    for fixture in &machining.fixtures {
                        let Some(&fixture) = self.fixture_of.get(fixture) else {
                            continue;
                        };
                        if !self.is_possible(cell, fixture) {
                            continue;
                        }
                        let (first_need, needs) = self.take_needs(machine, &needed);
                        let cycle_s = i64::try_from(place.cycle.of_load_s(clamped.pieces));
                        self.model.ways.push(Way {
                            machine,
                            fixture,
                            cycle_s: cycle_s.unwrap_or(i64::MAX),
                            is_cleared: place.is_cleared_on(at.id),
                            stays_mounted,
                            first_need,
                            needs,
                        });
                    }
                }
            }
        }
    }

    /// A copy exists, and a pallet of the cell takes it.
    fn is_possible(&self, cell: usize, fixture: usize) -> bool {
        let model = &self.model;
        let takes = |pallet: &super::PalletNow| pallet.cell == cell && pallet.carries[fixture];
        model.copies.iter().any(|copy| copy.fixture == fixture) && model.pallets.iter().any(takes)
    }
}
