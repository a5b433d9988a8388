//! When a part was last finished: good at the last operation of its routing.

use super::Shop;
use crate::event::Event;
use crate::ids::{JobId, PartId};
use crate::time::Timestamp;

impl Shop {
    /// Asked before the event is folded in: afterwards its job may be gone.
    pub(super) fn finished_by(&self, event: &Event) -> Vec<(PartId, Timestamp)> {
        let good: Vec<(JobId, u16)> = match event {
            Event::PalletUnloaded(event) => {
                let good = event.counts.iter().filter(|count| count.good > 0);
                good.map(|count| (count.job, count.operation)).collect()
            }
            Event::JobInspected(event) if event.counts.good > 0 => vec![(event.job, event.operation)],
            Event::SteppedBack(event) if event.back.good > 0 => vec![(event.job, event.operation)],
            Event::HoldDisposed(event) if event.disposition.lets_pass() && !event.on_pallet => {
                event.pieces.iter().map(|one| (one.job, one.operation)).collect()
            }
            _ => return Vec::new(),
        };
        let at = match event {
            Event::PalletUnloaded(event) => event.at,
            Event::JobInspected(event) => event.at,
            Event::SteppedBack(event) => event.at,
            Event::HoldDisposed(event) => event.at,
            _ => return Vec::new(),
        };
        let finished = good.into_iter().filter_map(|(job, operation)| {
            let job = self.jobs.get(&job)?;
            let last = job.operations.last()?;
            (last.number == operation).then_some((job.part, at))
        });
        finished.collect()
    }

    pub(super) fn keep_finished(&mut self, finished: Vec<(PartId, Timestamp)>) {
        for (part, at) in finished {
            let last = self.last_finished.get(&part).copied();
            self.last_finished
                .insert(part, last.map_or(at, |last| last.max(at)));
        }
    }
}
