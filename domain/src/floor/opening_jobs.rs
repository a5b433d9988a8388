//! Half-done jobs in the opening statement: what came to an operation is what the one before gave, and no more of it
//! can be told than came.

use super::pieces::{self, entered_first, has_begun, operations};
use super::work::{machining, place};
use super::{OpenFloor, OpeningCount, OpeningJob, OpeningRefusal};
use crate::ids::{CellId, FixtureId, JobId};
use crate::job::Job;
use crate::load::Clamped;
use crate::shop::Shop;

/// Whether the pieces can be in this fixture in this cell.
pub fn runs(shop: &Shop, one: &Clamped, cell: CellId, fixture: FixtureId) -> bool {
    pieces::open_job(shop, one.job).is_some()
        && place(shop, one.job, one.operation, cell).is_some()
        && machining(shop, one.job, one.operation)
            .is_some_and(|machining| machining.fixtures.contains(&fixture))
}

pub fn add_up(shop: &Shop, command: &OpenFloor) -> Result<(), OpeningRefusal> {
    for (index, told) in command.jobs.iter().enumerate() {
        let job = named(shop, &command.jobs, index)?;
        are_known(job, told, index)?;
        adds_up(job, &told.operations, command, &|at| match at {
            Some(entry) => format!("/jobs/{index}/operations/{entry}"),
            None => format!("/jobs/{index}"),
        })?;
    }
    let clamped = command
        .pallets
        .iter()
        .enumerate()
        .filter_map(|(index, pallet)| Some((index, pallet.load.as_ref()?)));
    for (index, load) in clamped {
        for (entry, one) in load.clamped.iter().enumerate() {
            let is_told = command.jobs.iter().any(|told| told.job == one.job);
            let job = pieces::open_job(shop, one.job).filter(|_| !is_told);
            if let Some(job) = job {
                let field = format!("/pallets/{index}/load/pieces/{entry}");
                if has_begun(job) {
                    return Err(OpeningRefusal::TooManyPieces {
                        field,
                        job: one.job,
                        operation: u32::from(one.operation),
                        pieces: u64::from(one.pieces),
                        entered: 0,
                    });
                }
                adds_up(job, &[], command, &|_| field.clone())?;
            }
        }
    }
    Ok(())
}

fn named<'a>(shop: &'a Shop, all: &[OpeningJob], index: usize) -> Result<&'a Job, OpeningRefusal> {
    let id = all[index].job;
    if all[..index].iter().any(|before| before.job == id) {
        return Err(OpeningRefusal::Repeated {
            field: format!("/jobs/{index}/job"),
            what: id.to_string(),
        });
    }
    let unknown = OpeningRefusal::UnknownJob { index, job: id };
    let job = pieces::open_job(shop, id).ok_or(unknown)?;
    if has_begun(job) {
        return Err(OpeningRefusal::JobActed { index, job: id });
    }
    Ok(job)
}

fn are_known(job: &Job, told: &OpeningJob, index: usize) -> Result<(), OpeningRefusal> {
    for (entry, count) in told.operations.iter().enumerate() {
        let operation = u32::from(count.operation);
        if !operations(job).any(|known| known == count.operation) {
            return Err(OpeningRefusal::UnknownOperation {
                index,
                entry,
                operation,
            });
        }
        let before = &told.operations[..entry];
        if before.iter().any(|before| before.operation == count.operation) {
            return Err(OpeningRefusal::Repeated {
                field: format!("/jobs/{index}/operations/{entry}"),
                what: format!("operation {operation}"),
            });
        }
    }
    Ok(())
}

/// Operation by operation, in the order of the routing.
fn adds_up(
    job: &Job,
    told: &[OpeningCount],
    command: &OpenFloor,
    field: &dyn Fn(Option<usize>) -> String,
) -> Result<(), OpeningRefusal> {
    let mut entered = u64::from(entered_first(job));
    for operation in operations(job) {
        let entry = told.iter().position(|count| count.operation == operation);
        let count = entry.map(|entry| told[entry]);
        let pieces = count.map_or(0, |count| count.total()) + clamped_at(command, job.id, operation);
        if pieces > entered {
            return Err(OpeningRefusal::TooManyPieces {
                field: field(entry),
                job: job.id,
                operation: u32::from(operation),
                pieces,
                entered,
            });
        }
        entered = count.map_or(0, |count| u64::from(count.good));
    }
    Ok(())
}

fn clamped_at(command: &OpenFloor, job: JobId, operation: u16) -> u64 {
    let loads = command.pallets.iter().filter_map(|pallet| pallet.load.as_ref());
    loads
        .flat_map(|load| &load.clamped)
        .filter(|one| (one.job, one.operation) == (job, operation))
        .map(|one| u64::from(one.pieces))
        .sum()
}
