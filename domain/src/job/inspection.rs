use super::{Counts, Job, less};
use crate::ids::{HoldId, LoadId, PrincipalId, Seq};
use crate::inspection::INSPECTIONS_MAX;
use crate::load::Disposition;
use crate::shop::JudgedRun;
use crate::time::Timestamp;
use serde::{Deserialize, Serialize};

/// What an inspector said of pieces of a job, while it may have to be taken back.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Inspection {
    /// The entry.
    pub seq: Seq,
    pub operation: u16,
    pub counts: Counts,
    /// `None`: reported of pieces that no hold was about.
    pub disposition: Option<Disposition>,
    pub hold: Option<HoldId>,
    /// Decided while this load was clamped: its counts move when it is taken off.
    pub load: Option<LoadId>,
    /// `None`: the service's command line.
    pub by: Option<PrincipalId>,
    pub at: Timestamp,
    /// The runs that cut its pieces.
    pub runs: Vec<JudgedRun>,
    /// The entry by which it was taken back.
    pub reversed_by: Option<Seq>,
}

impl Job {
    /// What the inspector says of pieces that were taken to them.
    pub fn inspected(&mut self, number: u16, counts: Counts) {
        self.change(number, |at| at.inspection = less(at.inspection, counts.total()));
        self.settle(number, counts);
    }

    /// A result was wrong: its pieces lie in inspection again. Good ones leave the next operation.
    pub fn unjudge(&mut self, number: u16, counts: Counts) {
        let Some(index) = self.index(number) else { return };
        let at = &mut self.operations[index];
        at.good = at.good.saturating_sub(counts.good);
        at.scrapped = at.scrapped.saturating_sub(counts.scrapped);
        at.rework = at.rework.saturating_sub(counts.rework);
        at.returned = at.returned.saturating_sub(counts.returned);
        let all = u32::try_from(counts.total()).unwrap_or(u32::MAX);
        at.inspection = at.inspection.saturating_add(all);
        if let Some(next) = self.operations.get_mut(index + 1) {
            next.came = next.came.saturating_sub(counts.good);
        }
    }

    pub fn note_inspection(&mut self, inspection: Inspection) {
        self.inspections.push(inspection);
        if self.inspections.len() > INSPECTIONS_MAX {
            self.inspections.remove(0);
        }
    }

    pub fn reverse_inspection(&mut self, entry: Seq, by: Seq) {
        for known in self.inspections.iter_mut().filter(|known| known.seq == entry) {
            known.reversed_by = Some(by);
        }
    }
}
