//! Taking a result back that was wrong, while its pieces are where it put them.

use super::{DispositionRefusal, InspectionReversed, ReverseInspection, Unjudged};
use crate::floor::act;
use crate::ids::Seq;
use crate::job::{Counts, Inspection, Job, JobRefusal};
use crate::machine::in_range;
use crate::order::line_of;
use crate::refusal::Refusal;
use crate::shop::Shop;
use crate::time::Timestamp;

pub fn reverse(
    shop: &Shop,
    command: &ReverseInspection,
    now: Timestamp,
) -> Result<InspectionReversed, Refusal> {
    let unknown = JobRefusal::Unknown { job: command.job };
    let job = shop.jobs.get(&command.job).ok_or(unknown)?;
    let is_meant = |one: &&Inspection| match command.entry {
        Some(entry) => one.seq == entry,
        None => one.reversed_by.is_none(),
    };
    let found = job.inspections.iter().rfind(is_meant);
    let unknown = DispositionRefusal::UnknownInspection {
        job: job.id,
        entry: command.entry.unwrap_or(0),
    };
    let inspection = found.ok_or(unknown)?;
    if let Some(by) = inspection.reversed_by {
        let entry = inspection.seq;
        return Err(DispositionRefusal::ReversedAlready { entry, by }.into());
    }
    if command.note.is_none() {
        return Err(DispositionRefusal::ReversalNoteMissing {}.into());
    }
    let pallet = shop.pallets.values().find(|pallet| {
        let load = pallet.load.as_ref();
        load.is_some_and(|load| Some(load.id) == inspection.load)
    });
    if let Some(pallet) = pallet {
        act::is_in_time(pallet, command.at, &act::Telling::live(now))?;
    } else {
        in_range(command.at, now, || "/at".to_owned())?;
        act::after_last(command.at, Some(inspection.at), || "this result".to_owned())?;
    }
    let of_entry = of_entry(shop, inspection.seq);
    if pallet.is_none() {
        for (job, one) in &of_entry {
            is_still_there(shop, job, one)?;
        }
    }
    Ok(InspectionReversed {
        entry: inspection.seq,
        hold: inspection.hold,
        pallet: pallet.map(|pallet| pallet.id),
        on_pallet: pallet.is_some(),
        pieces: of_entry.iter().map(|(job, one)| unjudged(job, one)).collect(),
        note: command.note.clone(),
        at: command.at,
    })
}

/// A load may hold pieces of several jobs: one result of all of them.
fn of_entry(shop: &Shop, entry: Seq) -> Vec<(&Job, &Inspection)> {
    let all = shop.jobs.values().flat_map(|job| {
        let of_job = job.inspections.iter().filter(move |one| one.seq == entry);
        of_job.map(move |one| (job, one))
    });
    let mut all: Vec<_> = all.collect();
    all.sort_by_key(|(job, one)| (job.id, one.operation));
    all
}

fn unjudged(job: &Job, inspection: &Inspection) -> Unjudged {
    Unjudged {
        job: job.id,
        operation: inspection.operation,
        counts: inspection.counts,
    }
}

fn is_still_there(shop: &Shop, job: &Job, inspection: &Inspection) -> Result<(), Refusal> {
    if !job.is_open() {
        let state = "closed";
        return Err(JobRefusal::NotOpen { job: job.id, state }.into());
    }
    let Some(at) = job.at(inspection.operation) else {
        return Ok(());
    };
    let Counts {
        good,
        scrapped,
        rework,
        returned,
        ..
    } = inspection.counts;
    let next = job.operations.iter().find(|next| next.number > at.number);
    let shipped = line_of(shop, job).map_or(0, |line| line.shipped_of(job.id));
    let (good_left, depends) = match next {
        Some(next) => (
            next.waiting(),
            format!(
                "the others have gone on at operation {}; take those back first",
                next.number
            ),
        ),
        None => (
            at.good.saturating_sub(shipped),
            "the others are shipped".to_owned(),
        ),
    };
    let counted_otherwise = || "the others were counted otherwise since".to_owned();
    let parts = [
        (good, "good", good_left, depends),
        (scrapped, "scrapped", at.scrapped, counted_otherwise()),
        (
            rework,
            "to be reworked",
            at.rework,
            "the others are clamped or out again; take those back first".to_owned(),
        ),
        (returned, "returned", at.returned, counted_otherwise()),
    ];
    let gone = parts.into_iter().find(|(pieces, _, there, _)| pieces > there);
    match gone {
        Some((pieces, called, there, depends)) => Err(DispositionRefusal::MovedOn {
            entry: inspection.seq,
            pieces,
            called,
            job: job.id,
            operation: u32::from(inspection.operation),
            there,
            depends,
        }
        .into()),
        None => Ok(()),
    }
}
