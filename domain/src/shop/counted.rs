//! What the pieces of a run were worth, when they were taken off and when the inspector has spoken.

use super::Shop;
use crate::event::Event;
use crate::floor::{Count, PalletUnloaded, work};
use crate::ids::{JobId, MachineId, RunId, Track};
use crate::job::Counts;
use crate::part::Place;
use crate::run::Purpose;
use crate::stretches::{Mark, Portion};
use crate::time::Timestamp;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The pieces of a run as they are known. It is kept in the shop while some of them wait for the inspector.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct RunTally {
    pub run: RunId,
    pub machine: MachineId,
    pub from: Timestamp,
    pub to: Timestamp,
    pub purpose: Purpose,
    pub operations: Vec<OperationTally>,
}

/// Of one job operation in it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct OperationTally {
    pub job: JobId,
    pub operation: u16,
    /// Planned for all of its pieces in the load.
    pub cycle_s: u64,
    pub in_load: u32,
    /// They came off cut.
    pub off: u32,
    pub good: u32,
    pub scrap: u32,
    /// For the inspector.
    pub waits: u32,
}

impl RunTally {
    /// The time of a program for a whole load is shared by the pieces in it.
    pub(super) fn mark(&self) -> (Track, Mark) {
        let sum = |of: fn(&OperationTally) -> u32| self.operations.iter().map(of).sum();
        let worth = |of: fn(&OperationTally) -> u32| {
            let operations = self.operations.iter();
            operations.map(|one| one.share_s(of(one))).sum()
        };
        let mark = Mark::Counted {
            from: self.from,
            to: self.to,
            run: self.run,
            purpose: self.purpose,
            earned_s: worth(|one| one.good),
            produced_s: worth(|one| one.off),
            produced: sum(|one| one.off),
            good: sum(|one| one.good),
            scrap: sum(|one| one.scrap),
        };
        (self.machine.into(), mark)
    }

    fn waits_for_inspector(&self) -> bool {
        self.operations.iter().any(|one| one.waits > 0)
    }

    fn waits_of(&self, job: JobId, operation: u16) -> u32 {
        let those = self.operations.iter();
        let those = those.filter(|one| (one.job, one.operation) == (job, operation));
        those.map(|one| one.waits).sum()
    }
}

impl Shop {
    /// The tallies that an entry is about to change, as they will be.
    pub(super) fn tallies(&self, event: &Event) -> Vec<RunTally> {
        match event {
            Event::PalletUnloaded(unloaded) => self.tally_of(unloaded).into_iter().collect(),
            Event::JobInspected(judged) => self.judged(&[(judged.job, judged.operation, judged.counts)]),
            Event::HoldDisposed(disposed) if !disposed.on_pallet => self.judged(&disposed.counts()),
            Event::InspectionReversed(reversed) if !reversed.on_pallet => self.unjudged(reversed),
            _ => Vec::new(),
        }
    }

    /// Keeps those that wait for the inspector. What a closed job has there is judged no more.
    pub(super) fn keep_tallies(&mut self, tallies: &[RunTally], closed: &[JobId]) {
        for tally in tallies {
            if tally.waits_for_inspector() {
                self.tallies.insert(tally.run, tally.clone());
            } else {
                self.tallies.remove(&tally.run);
            }
        }
        if closed.is_empty() {
            return;
        }
        let is_of_closed = |tally: &&RunTally| tally.operations.iter().any(|one| closed.contains(&one.job));
        let mut of_closed: Vec<_> = self.tallies.values().filter(is_of_closed).cloned().collect();
        for tally in &mut of_closed {
            let operations = tally.operations.iter_mut();
            for one in operations.filter(|one| closed.contains(&one.job)) {
                one.waits = 0;
            }
        }
        self.keep_tallies(&of_closed, &[]);
    }

    fn tally_of(&self, unloaded: &PalletUnloaded) -> Option<RunTally> {
        let run = self.runs.get(&unloaded.run?)?;
        let cell = self.machines.get(&run.machine)?.cell;
        let load = self
            .pallets
            .get(&unloaded.pallet)
            .and_then(|pallet| pallet.load.as_ref());
        let returned = |count: &Count| load.map_or(0, |load| load.returned(count.job, count.operation));
        let in_load = work::by_operation(&run.clamped);
        let operation = |count: &Count| {
            let in_load = in_load.get(&(count.job, count.operation)).copied().unwrap_or(0);
            let place = work::place(self, count.job, count.operation, cell);
            let off = count.total().saturating_sub(u64::from(count.uncut));
            // A piece that is put right came off when it was cut first. Good at last, it is worth what it is in a full load.
            let (cycle_s, off) = if count.rework {
                (self.in_full_loads_s(count, place, in_load), 0)
            } else {
                (place.map_or(0, |place| place.cycle.of_load_s(in_load)), off)
            };
            OperationTally {
                job: count.job,
                operation: count.operation,
                cycle_s,
                in_load,
                off: u32::try_from(off).unwrap_or(u32::MAX),
                good: count.good,
                scrap: count.scrapped,
                waits: count.to_inspection.saturating_sub(returned(count)),
            }
        };
        Some(RunTally {
            run: run.id,
            machine: run.machine,
            from: run.started_at,
            to: run.ended_at().unwrap_or(unloaded.at),
            purpose: run.purpose,
            operations: unloaded.counts.iter().map(operation).collect(),
        })
    }

    /// Planned for so many pieces when they are clamped in full loads.
    fn in_full_loads_s(&self, count: &Count, place: Option<&Place>, pieces: u32) -> u64 {
        let machining = work::machining(self, count.job, count.operation);
        let Some((machining, place)) = machining.zip(place) else {
            return 0;
        };
        let full = machining.pieces_per_load.max(1);
        place.cycle.of_load_s(full) * u64::from(pieces) / u64::from(full)
    }

    /// Pieces that no recorded run cut are judged first, then those of the run that ended first; in each the good ones
    /// before the others.
    fn judged(&self, results: &[(JobId, u16, Counts)]) -> Vec<RunTally> {
        let mut changed = BTreeMap::<RunId, RunTally>::new();
        for (job, operation, counts) in results {
            for tally in self.judged_of(*job, *operation, *counts, &changed) {
                changed.insert(tally.run, tally);
            }
        }
        changed.into_values().collect()
    }

    /// `changed`: as those are by now of which other operations were judged with it.
    fn judged_of(
        &self,
        job: JobId,
        operation: u16,
        counts: Counts,
        changed: &BTreeMap<RunId, RunTally>,
    ) -> Vec<RunTally> {
        let waiting = self
            .tallies
            .values()
            .map(|tally| changed.get(&tally.run).unwrap_or(tally));
        let mut waiting: Vec<_> = waiting
            .filter(|tally| tally.waits_of(job, operation) > 0)
            .cloned()
            .collect();
        waiting.sort_by_key(|tally| (tally.to, tally.run));
        let of_runs: u32 = waiting.iter().map(|tally| tally.waits_of(job, operation)).sum();
        let at = self.jobs.get(&job).and_then(|job| job.at(operation));
        let mut of_none = at.map_or(0, |at| at.inspection).saturating_sub(of_runs);
        let others = counts.rework.saturating_add(counts.returned);
        let mut left = [counts.good, counts.scrapped, others].map(|pieces| {
            let skipped = pieces.min(of_none);
            of_none -= skipped;
            pieces - skipped
        });
        for tally in &mut waiting {
            let operations = tally.operations.iter_mut();
            for one in operations.filter(|one| (one.job, one.operation) == (job, operation)) {
                one.judge(&mut left);
            }
        }
        waiting
    }
}

impl OperationTally {
    fn share_s(&self, pieces: u32) -> i64 {
        let (part, whole) = (pieces, self.in_load);
        Portion { part, whole }.of(i64::try_from(self.cycle_s).unwrap_or(i64::MAX))
    }

    fn judge(&mut self, left: &mut [u32; 3]) {
        let taken = left.each_mut().map(|left| {
            let taken = (*left).min(self.waits);
            self.waits -= taken;
            *left -= taken;
            taken
        });
        self.good = self.good.saturating_add(taken[0]);
        self.scrap = self.scrap.saturating_add(taken[1]);
    }
}
