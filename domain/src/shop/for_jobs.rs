//! What an entry says was set up or run for which jobs.

use super::Shop;
use crate::event::Event;
use crate::floor::{RunStarted, work};
use crate::ids::{JobId, PalletId, Track};
use crate::stretches::{Mark, Portion};
use std::collections::BTreeMap;

/// A job's operation.
type Of = (JobId, u16);

impl Shop {
    pub(super) fn marks_for_jobs(&self, event: &Event) -> Vec<(Track, Mark)> {
        match event {
            Event::RunStarted(event) => self.run_for_jobs(event),
            Event::PalletLoaded(event) => self.setup_for_jobs_on(event.pallet),
            _ => Vec::new(),
        }
    }

    /// A run is shared out by how long the program of each operation takes, and where the routing does not say that, by
    /// nests.
    fn run_for_jobs(&self, event: &RunStarted) -> Vec<(Track, Mark)> {
        let clamped = self.runs.get(&event.run).map_or(&[][..], |run| &run.clamped);
        let pieces = work::by_operation(clamped);
        let cycle_s = |of: &Of| {
            let place = work::place(self, of.0, of.1, event.cell);
            let cycle_s = place.map_or(0, |place| place.cycle.of_load_s(pieces[of]));
            u32::try_from(cycle_s).unwrap_or(u32::MAX)
        };
        let cycles: BTreeMap<_, _> = pieces.keys().map(|of| (*of, cycle_s(of))).collect();
        let parts = if cycles.values().any(|cycle_s| *cycle_s > 0) {
            &cycles
        } else {
            &pieces
        };
        let mark = |((job, operation), portion): (Of, Portion)| {
            let mark = Mark::JobRun {
                at: event.at,
                run: event.run,
                machine: event.machine,
                operation,
                portion,
                cycle_s: cycles[&(job, operation)],
            };
            (job.into(), mark)
        };
        shares(parts).map(mark).collect()
    }

    /// A setup was for the first load in it, in equal parts. Pieces that are added to that load share it.
    pub(super) fn setup_for_jobs_on(&self, pallet: PalletId) -> Vec<(Track, Mark)> {
        let pallet = self.pallets.get(&pallet);
        let found = pallet.and_then(|pallet| pallet.setup.as_ref().zip(pallet.load.as_ref()));
        let Some((setup, load)) = found.filter(|(setup, load)| setup.first_load == Some(load.id)) else {
            return Vec::new();
        };
        // What was mounted before the book was opened took nobody knows how long.
        let us = setup
            .ended_at
            .map_or(0, |ended_at| ended_at.since_us(setup.started_at));
        if us <= 0 {
            return Vec::new();
        }
        let equal = work::by_operation(&load.clamped)
            .into_keys()
            .map(|of| (of, 1))
            .collect();
        let mark = |((job, operation), portion): (Of, Portion)| {
            let mark = Mark::JobSetup {
                at: setup.started_at,
                setup: setup.id,
                operation,
                portion,
                us,
            };
            (job.into(), mark)
        };
        shares(&equal).map(mark).collect()
    }
}

fn shares(parts: &BTreeMap<Of, u32>) -> impl Iterator<Item = (Of, Portion)> {
    let whole = parts.values().fold(0, |sum: u32, part| sum.saturating_add(*part));
    parts
        .iter()
        .map(move |(of, part)| (*of, Portion { part: *part, whole }))
}
