//! How the events of jobs change the shop.

use super::{Inspection, Job, StepOut};
use crate::actor::person;
use crate::entry::EntryMeta;
use crate::event::Event;
use crate::ids::JobId;
use crate::order::add_lot;
use crate::shop::Shop;

pub fn apply(shop: &mut Shop, event: &Event, meta: &EntryMeta) {
    let mut change = |id: &JobId, change: &dyn Fn(&mut Job)| {
        shop.jobs.update(id, |job| {
            change(job);
            job.changed_seq = meta.seq;
        });
    };
    match event {
        Event::JobSplit(split) => {
            let mut lot = None;
            shop.jobs.update(&split.job, |job| {
                lot = Some(job.split(split.into, split.quantity, &split.moved, meta.seq));
                job.changed_seq = meta.seq;
            });
            if let Some(lot) = lot {
                add_lot(shop, lot.order, lot.line, lot.id, meta.seq);
                shop.jobs.insert(lot.id, lot);
            }
        }
        Event::BlanksAdded(added) => change(&added.job, &|job| {
            job.add_blanks(added.pieces);
            if added.certificate.is_some() {
                job.certificate.clone_from(&added.certificate);
            }
        }),
        Event::SteppedOut(out) => change(&out.job, &|job| {
            let step = StepOut {
                step: out.step,
                vendor: out.vendor,
                pieces: out.pieces,
                at: out.at,
                due: out.due,
                good: 0,
                damaged: 0,
                missing: 0,
                last_back_at: None,
            };
            job.step_out(out.operation, step, out.from_rework);
        }),
        Event::SteppedBack(back) => change(&back.job, &|job| {
            job.step_back(back.operation, back.step, back.back, back.at);
        }),
        Event::JobInspected(judged) => change(&judged.job, &|job| {
            job.inspected(judged.operation, judged.counts);
            job.note_inspection(Inspection {
                seq: meta.seq,
                operation: judged.operation,
                counts: judged.counts,
                disposition: None,
                hold: None,
                load: None,
                by: person(meta.actor),
                at: judged.at,
                runs: Vec::new(),
                reversed_by: None,
            });
        }),
        _ => {}
    }
}
