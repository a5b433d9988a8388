//! Which jobs a cell could load pieces of now: without any, its spindles have no work; with one, they wait for a load.

use super::Shop;
use crate::correction::Withdrawn;
use crate::entry::EntryMeta;
use crate::event::Event;
use crate::floor::pieces::{machined, material_missing};
use crate::ids::{CellId, JobId, Track};
use crate::job::Job;
use crate::order::lots;
use crate::stretches::Mark;
use crate::time::Timestamp;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

/// Of one cell, from the first job on that was ever released to it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct OpenWork {
    pub jobs: BTreeSet<JobId>,
    /// Since when there has been some, or none.
    pub since: Timestamp,
}

impl OpenWork {
    pub(super) fn mark(&self, cell: CellId) -> (Track, Mark) {
        let mark = Mark::WorkOpen {
            at: self.since,
            open: !self.jobs.is_empty(),
        };
        (cell.into(), mark)
    }
}

impl Shop {
    /// Books what an entry that was just applied has changed, and tells whose work began or ended with it.
    pub(super) fn book_open_work(&mut self, event: &Event, meta: &EntryMeta) -> Vec<CellId> {
        self.book_work_of(&touched(self, event), meta)
    }

    pub(crate) fn book_work_of(&mut self, jobs: &[JobId], meta: &EntryMeta) -> Vec<CellId> {
        let mut changes = BTreeMap::<CellId, Vec<(JobId, bool)>>::new();
        for job in jobs.iter().filter_map(|id| self.jobs.get(id)) {
            for (cell, is_open) in cells_of(self, job) {
                changes.entry(cell).or_default().push((job.id, is_open));
            }
        }
        let mut turned = Vec::new();
        for (cell, jobs) in changes {
            if self.change_open_work(cell, &jobs, meta) {
                turned.push(cell);
            }
        }
        turned
    }

    /// Whether its work began or ended.
    fn change_open_work(&mut self, cell: CellId, changes: &[(JobId, bool)], meta: &EntryMeta) -> bool {
        let known = self.open_work.get(&cell);
        let is_new = |(job, is_open): &(JobId, bool)| {
            known.map_or(*is_open, |work| work.jobs.contains(job) != *is_open)
        };
        if !changes.iter().any(is_new) {
            return false;
        }
        if known.is_none() {
            let none = OpenWork {
                jobs: BTreeSet::new(),
                since: meta.occurred_at,
            };
            self.open_work.insert(cell, none);
        }
        let mut has_turned = false;
        self.open_work.update(&cell, |work| {
            let was_open = !work.jobs.is_empty();
            for (job, is_open) in changes {
                if *is_open {
                    work.jobs.insert(*job);
                } else {
                    work.jobs.remove(job);
                }
            }
            has_turned = was_open == work.jobs.is_empty();
            if has_turned {
                // What is told late is told of now: the book of one pallet may lag behind that of another.
                work.since = work.since.max(meta.occurred_at);
            }
        });
        has_turned
    }

    /// The jobs that an entry closed.
    pub(super) fn closed_by(&self, event: &Event) -> Vec<JobId> {
        match event {
            Event::LineCancelled(event) => lots(self, event.order, event.line),
            Event::LineCompleted(event) => lots(self, event.order, event.line),
            _ => Vec::new(),
        }
    }
}

/// Every cell that a job can be cut in, and whether that cell could load pieces of it.
fn cells_of(shop: &Shop, job: &Job) -> BTreeMap<CellId, bool> {
    let mut cells = BTreeMap::new();
    for (number, machining) in machined(job) {
        let rework = job.at(number).map_or(0, |at| at.rework);
        let is_wanted = || job.pieces_to_load(number) > 0 && material_missing(shop, job, number).is_none();
        let is_open = job.is_open() && (rework > 0 || is_wanted());
        for place in &machining.places {
            *cells.entry(place.cell).or_insert(false) |= is_open;
        }
    }
    cells
}

/// The jobs whose pieces an entry may have moved, or which it opened or closed.
fn touched(shop: &Shop, event: &Event) -> Vec<JobId> {
    match event {
        Event::PalletLoaded(event) => event.clamped.iter().map(|one| one.job).collect(),
        Event::PalletUnloaded(event) => event.counts.iter().map(|count| count.job).collect(),
        Event::ActWithdrawn(event) => match &event.what {
            Withdrawn::Load { clamped, .. } => clamped.iter().map(|one| one.job).collect(),
            _ => Vec::new(),
        },
        Event::PalletRecounted(event) => event.counts.iter().map(|count| count.job).collect(),
        Event::FloorOpened(event) => {
            let loads = event.pallets.iter().filter_map(|pallet| pallet.load.as_ref());
            let clamped = loads.flat_map(|load| load.clamped.iter().map(|one| one.job));
            let told = event.jobs.iter().map(|told| told.job);
            told.chain(clamped).collect()
        }
        Event::LineReleased(event) => vec![event.job],
        Event::LineChanged(event) => event.jobs.iter().map(|share| share.job).collect(),
        Event::MaterialArrived(event) => lots(shop, event.order, event.line),
        Event::LineCancelled(event) => lots(shop, event.order, event.line),
        Event::LineCompleted(event) => lots(shop, event.order, event.line),
        Event::JobSplit(event) => vec![event.job, event.into],
        Event::BlanksAdded(event) => vec![event.job],
        Event::SteppedOut(event) => vec![event.job],
        Event::SteppedBack(event) => vec![event.job],
        Event::JobInspected(event) => vec![event.job],
        Event::HoldDisposed(event) => event.pieces.iter().map(|one| one.job).collect(),
        Event::InspectionReversed(event) => event.pieces.iter().map(|one| one.job).collect(),
        _ => Vec::new(),
    }
}
