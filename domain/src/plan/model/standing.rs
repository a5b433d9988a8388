//! What is clamped on pallets now: it stays where it is, and some of it is not the search's to move.

use super::take::Taking;
use super::{LoadKey, LoadToPlan, Phase, Way};
use crate::floor::first_piece::{self, Passage};
use crate::floor::{may_be_cut, next_in_queue, passage, pieces::open_job, work};
use crate::load::{Clamped, Load, Stage};
use crate::pallet::{Pallet, Setup};
use crate::part::Machining;
use std::collections::BTreeSet;

impl Taking<'_> {
    /// First what is cut and what runs, then what stands in a spindle, then what is announced as next; the rest is free.
    pub(super) fn take_standing(&mut self) {
        let shop = self.shop;
        let mut pallets: Vec<&Pallet> = shop
            .pallets
            .values()
            .filter(|pallet| self.pallet_of.contains_key(&pallet.id))
            .collect();
        pallets.sort_by_key(|pallet| self.pallet_of[&pallet.id]);
        let mut loads: Vec<_> = pallets
            .iter()
            .filter_map(|pallet| self.standing(pallet))
            .collect();
        let heads = self.announced(&mut loads);
        loads.sort_by_key(|load| order_of(load, &heads));
        self.model.fixed = loads
            .iter()
            .filter(|load| order_of(load, &heads).0 < FREE)
            .count();
        self.model.loads.extend(loads);
    }

    fn standing(&mut self, pallet: &Pallet) -> Option<LoadToPlan> {
        let (load, setup) = (pallet.load.as_ref()?, pallet.setup.as_ref()?);
        let index = self.pallet_of[&pallet.id];
        let phase = self.phase(index, load);
        let first_way = self.model.ways.len();
        self.take_ways(pallet, index, load, phase);
        let steps = load.clamped.iter().filter_map(|one| {
            let step = *self.step_of.get(&(one.job, one.operation))?;
            Some((step, one.pieces))
        });
        let mut load_to_plan = LoadToPlan {
            key: LoadKey::Standing(load.id),
            clamped: load.clamped.clone(),
            pieces: steps.collect(),
            phase,
            load_s: 0,
            unload_s: self.handling_s(&load.clamped, |machining| machining.unload_s),
            first_way,
            ways: self.model.ways.len() - first_way,
            due: i64::MAX,
            weight: 1,
            last: self.last_of(LoadKey::Standing(load.id)),
        };
        self.take_urgency(&mut load_to_plan);
        if let Phase::Ready { pallet: index, .. } = load_to_plan.phase {
            let keeps = self.keeps_spindle(&load_to_plan, pallet, index, load, setup);
            if let Phase::Ready { head, .. } = &mut load_to_plan.phase {
                *head = keeps;
            }
        }
        Some(load_to_plan)
    }

    /// What stands in a spindle ready to start stays there; what a rule keeps from starting gives way.
    fn keeps_spindle(
        &self,
        load: &LoadToPlan,
        pallet: &Pallet,
        index: usize,
        standing: &Load,
        setup: &Setup,
    ) -> bool {
        let Some(machine) = self.model.pallets[index].at_spindle else {
            return false;
        };
        let Some(known) = self.shop.machines.get(&self.model.machines[machine].id) else {
            return false;
        };
        let needed = work::tool_use(self.shop, &standing.clamped, pallet.cell);
        self.model.ways_of(load).iter().any(|way| way.machine == machine)
            && may_be_cut(
                self.shop,
                pallet,
                standing,
                passage(setup, known, self.model.clock.start),
            )
            .is_ok()
            && work::short_tool(&known.tools, &needed).is_none()
            && self.starts_at_once(load, pallet, machine, 0, 0)
    }

    fn phase(&self, index: usize, load: &Load) -> Phase {
        let place = &self.model.pallets[index];
        let exchange_s = self.model.cells[place.cell].exchange_s;
        let out_s = if place.at_spindle.is_some() { exchange_s } else { 0 };
        let judged = self.judged_at(load.id);
        let is_wanted = load
            .clamped
            .iter()
            .any(|one| open_job(self.shop, one.job).is_some());
        match load.stage {
            Stage::InRun { run } => {
                let run = self.shop.runs.get(&run);
                let machine = run.and_then(|run| self.machine_of.get(&run.machine).copied());
                let clock = self.model.clock;
                let times = run.map(|run| {
                    let started = clock.not_after(run.started_at);
                    (started, clock.not_before(run.ends_at(self.now)).max(0))
                });
                let (started, until) = times.unwrap_or_default();
                Phase::Running {
                    pallet: index,
                    machine: machine.or(place.at_spindle).unwrap_or(0),
                    started,
                    until,
                }
            }
            Stage::Ready | Stage::Aborted { .. } if is_wanted => Phase::Ready {
                pallet: index,
                from: judged.unwrap_or(0),
                head: false,
            },
            // Nobody wants its pieces any more: they come off.
            _ => Phase::Cut {
                pallet: index,
                from: judged.unwrap_or(0).max(out_s),
            },
        }
    }

    fn take_ways(&mut self, pallet: &Pallet, index: usize, load: &Load, phase: Phase) {
        let (cell, copy) = (self.model.pallets[index].cell, self.model.pallets[index].copy);
        let fixture = copy.map_or(0, |copy| self.model.copies[copy].fixture);
        let is_aborted = matches!(load.stage, Stage::Aborted { .. });
        for machine in 0..self.model.machines.len() {
            let at = self.model.machines[machine];
            let fits_phase = match phase {
                Phase::Running { machine: in_it, .. } => machine == in_it,
                Phase::Ready { .. } => {
                    let stands = self.model.pallets[index].at_spindle;
                    !at.is_down && stands.is_none_or(|stands| stands == machine)
                }
                _ => false,
            };
            let takes = work::not_on(self.shop, &load.clamped, pallet.cell, at.id).is_none();
            if at.cell != cell || !fits_phase || !(takes || matches!(phase, Phase::Running { .. })) {
                continue;
            }
            let needed = work::tool_use(self.shop, &load.clamped, pallet.cell);
            let (first_need, needs) = self.take_needs(machine, &needed);
            let is_cleared = work::not_cleared(self.shop, &load.clamped, pallet.cell, at.id).is_none();
            let cycle_s = work::cycle_s(self.shop, &load.clamped, pallet.cell);
            self.model.ways.push(Way {
                machine,
                fixture,
                cycle_s: i64::try_from(cycle_s).unwrap_or(i64::MAX),
                // Somebody has to look at what was broken off before it is started again.
                is_cleared: is_cleared && !is_aborted,
                stays_mounted: true,
                first_need,
                needs,
            });
        }
    }

    pub(super) fn handling_s(&self, clamped: &[Clamped], of: impl Fn(&Machining) -> u32) -> i64 {
        let one_s = |one: &Clamped| {
            let machining = work::machining(self.shop, one.job, one.operation);
            machining.map_or(0, |machining| {
                share_s(of(machining), one.pieces, machining.pieces_per_load)
            })
        };
        clamped.iter().map(one_s).sum()
    }

    /// Marks the loads that stand next, and tells for which machine.
    fn announced(&self, loads: &mut [LoadToPlan]) -> BTreeSet<LoadKey> {
        let mut heads = BTreeSet::new();
        let model = &self.model;
        for (index, machine) in model.machines.iter().enumerate() {
            let Some(known) = self.shop.machines.get(&machine.id).filter(|_| !machine.is_down) else {
                continue;
            };
            let Some(next) = next_in_queue(self.shop, known, self.now) else {
                continue;
            };
            let Some(pallet) = self.pallet_of.get(&next.id).copied() else {
                continue;
            };
            let busy_until = loads.iter().filter_map(|load| match load.phase {
                Phase::Running { machine, until, .. } if machine == index => Some(until),
                _ => None,
            });
            let free_at = busy_until.max().unwrap_or(0);
            let ahead = loads.iter().any(|load| {
                matches!(load.phase, Phase::Ready { pallet: other, head: true, .. }
                    if other != pallet && model.pallets[other].at_spindle == Some(index))
            });
            let on_pallet = loads.iter_mut().find(|load| load.phase.pallet() == Some(pallet));
            let Some(load) = on_pallet.filter(|load| !ahead && !heads.contains(&load.key)) else {
                continue;
            };
            let exchange_s = model.cells[machine.cell].exchange_s;
            if self.starts_at_once(load, next, index, free_at, exchange_s) {
                load.first_way += model.ways[load.first_way..load.first_way + load.ways]
                    .iter()
                    .position(|way| way.machine == index)
                    .unwrap_or(0);
                load.ways = 1;
                if let Phase::Ready { head, .. } = &mut load.phase {
                    *head = true;
                }
                heads.insert(load.key);
            }
        }
        heads
    }

    /// An announced load keeps its place only if no rule makes the spindle wait for it.
    fn starts_at_once(
        &self,
        load: &LoadToPlan,
        pallet: &Pallet,
        machine: usize,
        free_at: i64,
        exchange_s: i64,
    ) -> bool {
        let Some(way) = self.model.ways_of(load).iter().find(|way| way.machine == machine) else {
            return false;
        };
        let cell = &self.model.cells[self.model.machines[machine].cell];
        let start = free_at + exchange_s;
        let wanted = pallet.setup.as_ref().and_then(|setup| {
            let passage = Passage {
                setup: setup.id,
                machine: self.model.machines[machine].id,
                at: self.model.clock.at(start),
            };
            first_piece::wanted_of_load(self.shop, &load.clamped, passage)
        });
        (way.is_cleared && wanted.is_none()) || cell.attended.fit(start, way.cycle_s) == Some(start)
    }

    /// A load is as urgent as the most urgent of its lines.
    pub(super) fn take_urgency(&self, load: &mut LoadToPlan) {
        for (step, _) in &load.pieces {
            let job = &self.model.jobs[self.model.steps[*step].job];
            let Some(line) = job.line.map(|line| self.model.lines[line]) else {
                continue;
            };
            load.due = load.due.min(line.due.unwrap_or(i64::MAX));
            load.weight = load.weight.max(line.weight);
        }
    }
}

/// The part of the time for a full load that so many pieces take, rounded up.
pub(super) fn share_s(full_s: u32, pieces: u32, full_pieces: u32) -> i64 {
    let share = (u64::from(full_s) * u64::from(pieces)).div_ceil(u64::from(full_pieces.max(1)));
    i64::try_from(share).unwrap_or(i64::MAX)
}

const FREE: u8 = 4;

fn order_of(load: &LoadToPlan, heads: &BTreeSet<LoadKey>) -> (u8, i64) {
    match load.phase {
        Phase::Running { until, .. } => (0, until),
        Phase::Cut { from, .. } => (1, from),
        Phase::Ready { head: true, .. } if !heads.contains(&load.key) => (2, 0),
        Phase::Ready { .. } if heads.contains(&load.key) => (3, 0),
        _ => (FREE, 0),
    }
}
