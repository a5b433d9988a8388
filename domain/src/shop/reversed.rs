//! What a result of an inspector did to the worth of runs, so that it can be taken back.

use super::{OperationTally, RunTally, Shop};
use crate::event::Event;
use crate::ids::{JobId, LoadId, RunId, Seq};
use crate::inspection::{InspectionReversed, Unjudged};
use crate::job::Counts;
use serde::{Deserialize, Serialize};

/// Pieces of a run that a result was about, and the run as it was known after it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct JudgedRun {
    pub tally: RunTally,
    pub good: u32,
    pub scrap: u32,
    /// To be reworked, or returned.
    pub others: u32,
}

/// A load that an entry takes off, and the jobs that it held pieces of.
pub(super) type TakenOff = Option<(LoadId, Vec<JobId>)>;

impl Shop {
    pub(super) fn load_taken_off(&self, event: &Event) -> TakenOff {
        let Event::PalletUnloaded(event) = event else {
            return None;
        };
        let load = self.pallets.get(&event.pallet)?.load.as_ref()?;
        let is_decided = !load.decided.is_empty();
        let jobs = || event.counts.iter().map(|count| count.job).collect();
        is_decided.then(|| (load.id, jobs()))
    }

    /// Beside each result of this entry, and of the load that it took off.
    pub(super) fn note_tallies(&mut self, taken_off: TakenOff, seq: Seq, tallies: &[RunTally]) {
        if tallies.is_empty() {
            return;
        }
        let (load, of_load) = taken_off.unzip();
        let of_tallies = tallies.iter().flat_map(|tally| &tally.operations);
        let mut jobs: Vec<JobId> = of_tallies.map(|one| one.job).collect();
        jobs.extend(of_load.into_iter().flatten());
        jobs.sort();
        jobs.dedup();
        let before = |run: &RunId| self.tallies.get(run).cloned();
        let pairs: Vec<_> = tallies.iter().map(|after| (before(&after.run), after)).collect();
        for id in jobs {
            let Some(job) = self.jobs.get(&id) else { continue };
            let is_of = |one: &crate::job::Inspection| one.seq == seq || (load.is_some() && one.load == load);
            if !job.inspections.iter().any(is_of) {
                continue;
            }
            self.jobs.update(&id, |job| {
                for one in job.inspections.iter_mut().filter(|one| is_of(one)) {
                    let judged = pairs.iter().filter_map(|(before, after)| {
                        judged(before.as_ref(), after, (id, one.operation), one.counts)
                    });
                    one.runs = judged.collect();
                }
            });
        }
    }

    /// The tallies as they are when the pieces lie in inspection again.
    pub(super) fn unjudged(&self, reversed: &InspectionReversed) -> Vec<RunTally> {
        let mut changed = Vec::<RunTally>::new();
        for one in &reversed.pieces {
            for judged in self.judged_by(one, reversed.entry) {
                let run = judged.tally.run;
                let known = changed.iter().position(|tally| tally.run == run);
                let at = known.unwrap_or_else(|| {
                    changed.push(self.newest_tally(judged));
                    changed.len() - 1
                });
                let operations = changed[at].operations.iter_mut();
                for tally in operations.filter(|tally| is_of(tally, (one.job, one.operation))) {
                    tally.unjudge(judged);
                }
            }
        }
        changed
    }

    fn judged_by(&self, one: &Unjudged, entry: Seq) -> &[JudgedRun] {
        let job = self.jobs.get(&one.job);
        let mut known = job.iter().flat_map(|job| &job.inspections);
        let found = known.find(|known| known.seq == entry && known.operation == one.operation);
        found.map_or(&[], |known| &known.runs)
    }

    /// While pieces of the run wait it is in the shop; else the last result about it knows.
    fn newest_tally(&self, judged: &JudgedRun) -> RunTally {
        let run = judged.tally.run;
        if let Some(tally) = self.tallies.get(&run) {
            return tally.clone();
        }
        let jobs = judged
            .tally
            .operations
            .iter()
            .filter_map(|one| self.jobs.get(&one.job));
        let results = jobs.flat_map(|job| &job.inspections);
        let of_run = results.flat_map(|one| one.runs.iter().map(move |known| (one.seq, known)));
        let newest = of_run
            .filter(|(_, known)| known.tally.run == run)
            .max_by_key(|(seq, _)| *seq);
        newest.map_or_else(|| judged.tally.clone(), |(_, known)| known.tally.clone())
    }
}

fn is_of(tally: &OperationTally, of: (JobId, u16)) -> bool {
    (tally.job, tally.operation) == of
}

/// Without a tally before, the pieces were judged while they were clamped.
fn judged(
    before: Option<&RunTally>,
    after: &RunTally,
    of: (JobId, u16),
    counts: Counts,
) -> Option<JudgedRun> {
    let find = |tally: &RunTally| tally.operations.iter().find(|one| is_of(one, of)).cloned();
    let now = find(after)?;
    let (good, scrap, others) = match before.and_then(find) {
        Some(was) => {
            let (good, scrap) = (
                now.good.saturating_sub(was.good),
                now.scrap.saturating_sub(was.scrap),
            );
            let judged = was.waits.saturating_sub(now.waits);
            (good, scrap, judged.saturating_sub(good).saturating_sub(scrap))
        }
        None => (
            counts.good,
            counts.scrapped,
            counts.rework.saturating_add(counts.returned),
        ),
    };
    Some(JudgedRun {
        tally: after.clone(),
        good,
        scrap,
        others,
    })
}

impl OperationTally {
    fn unjudge(&mut self, judged: &JudgedRun) {
        let (good, scrap) = (judged.good.min(self.good), judged.scrap.min(self.scrap));
        self.good -= good;
        self.scrap -= scrap;
        self.waits = self
            .waits
            .saturating_add(good)
            .saturating_add(scrap)
            .saturating_add(judged.others);
    }
}
