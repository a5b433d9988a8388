use super::lead::due_of;
use super::{
    AddBlanks, AtOperation, BlanksAdded, JOBS_MAX, Job, JobInspected, JobRefusal, JobSplit, JobState,
    PIECES_MAX, ReportInspected, ReportStepBack, ReportStepOut, STEPS_MAX, SplitJob, StepOut, SteppedBack,
    SteppedOut,
};
use crate::ids::JobId;
use crate::inspection::held_in_inspection;
use crate::local_time::local_date;
use crate::machine::in_range;
use crate::order::{LOTS_MAX, Line, line_of};
use crate::part::{Manual, Work};
use crate::refusal::Refusal;
use crate::shop::Shop;
use crate::site::Site;
use crate::time::Timestamp;

pub fn split(shop: &Shop, command: &SplitJob) -> Result<JobSplit, JobRefusal> {
    let job = open(shop, command.job)?;
    if shop.jobs.get(&command.into).is_some() {
        return Err(JobRefusal::IdTaken { job: command.into });
    }
    if shop.jobs.len() >= JOBS_MAX {
        return Err(JobRefusal::TooMany { max: JOBS_MAX });
    }
    if line_of(shop, job).is_some_and(|line| line.jobs().len() >= LOTS_MAX) {
        return Err(JobRefusal::TooManyLots { max: LOTS_MAX });
    }
    let most = job.still_to_make().min(job.quantity.saturating_sub(1));
    is_count("/quantity", u64::from(command.quantity))?;
    if command.quantity > most {
        return Err(JobRefusal::SplitTooLarge {
            job: job.id,
            quantity: command.quantity,
            most,
        });
    }
    for (index, moved) in command.moved.iter().enumerate() {
        let field = format!("/moved/{index}/operation");
        let at = at(job, &field, moved.operation)?;
        let before = &command.moved[..index];
        if before.iter().any(|before| before.operation == moved.operation) {
            return Err(JobRefusal::OperationTwice {
                field,
                operation: u32::from(moved.operation),
            });
        }
        takes(job, at, &format!("/moved/{index}/pieces"), moved.pieces, false)?;
    }
    Ok(JobSplit {
        job: job.id,
        into: command.into,
        quantity: command.quantity,
        moved: command.moved.clone(),
    })
}

pub fn add_blanks(shop: &Shop, command: &AddBlanks) -> Result<BlanksAdded, JobRefusal> {
    let job = open(shop, command.job)?;
    is_count("/pieces", u64::from(command.pieces))?;
    if command.pieces > PIECES_MAX.saturating_sub(job.released) {
        return Err(JobRefusal::TooManyBlanks {
            job: job.id,
            released: job.released,
            max: PIECES_MAX,
        });
    }
    // A lot without a blank has no heat yet, whatever the lot that it came from was made of.
    let known = job.certificate.as_ref().filter(|_| job.released > 0);
    match (known, &command.certificate) {
        (Some(known), Some(given)) if known != given => Err(JobRefusal::OtherCertificate {
            job: job.id,
            certificate: known.clone(),
        }),
        (known, given) => Ok(BlanksAdded {
            job: job.id,
            pieces: command.pieces,
            certificate: given.clone().filter(|_| known.is_none()),
        }),
    }
}

pub fn step_out(
    shop: &Shop,
    site: &Site,
    command: &ReportStepOut,
    now: Timestamp,
) -> Result<SteppedOut, Refusal> {
    let job = open(shop, command.job)?;
    let here = at(job, "/operation", command.operation)?;
    let manual = manual(job, command.operation)?;
    in_range(command.at, now, || "/at".to_owned())?;
    let is_first = job
        .operations
        .first()
        .is_some_and(|first| first.number == here.number);
    if is_first && line_of(shop, job).is_some_and(Line::waits_for_material) {
        return Err(JobRefusal::MaterialNotArrived { job: job.id }.into());
    }
    takes(job, here, "/pieces", command.pieces, command.from_rework)?;
    let steps = job.steps().count();
    if steps >= STEPS_MAX {
        return Err(JobRefusal::TooManySteps { max: STEPS_MAX }.into());
    }
    let out_on = local_date(site.zone, command.at);
    if let Some(due) = command.due.filter(|due| *due < out_on) {
        return Err(JobRefusal::BadDue { due, at: out_on }.into());
    }
    Ok(SteppedOut {
        job: job.id,
        operation: here.number,
        step: u32::try_from(steps).unwrap_or(u32::MAX).saturating_add(1),
        pieces: command.pieces,
        from_rework: command.from_rework,
        vendor: manual.vendor,
        at: command.at,
        due: command.due.or_else(|| due_of(shop, site, manual, command.at)),
    })
}

pub fn step_back(shop: &Shop, command: &ReportStepBack, now: Timestamp) -> Result<SteppedBack, Refusal> {
    let job = open(shop, command.job)?;
    in_range(command.at, now, || "/at".to_owned())?;
    let found = job.steps().find(|(_, step)| step.step == command.step);
    let (operation, step): (u16, &StepOut) = found.ok_or(JobRefusal::UnknownStep {
        job: job.id,
        step: command.step,
    })?;
    is_count("", command.back.total())?;
    if command.back.total() > u64::from(step.still_out()) {
        return Err(JobRefusal::MoreThanOut {
            job: job.id,
            step: step.step,
            pieces: command.back.total(),
            still_out: step.still_out(),
        }
        .into());
    }
    if command.at < step.at {
        return Err(JobRefusal::BackBeforeOut {
            at: command.at,
            out_at: step.at,
        }
        .into());
    }
    Ok(SteppedBack {
        job: job.id,
        operation,
        step: step.step,
        back: command.back,
        at: command.at,
    })
}

pub fn inspected(shop: &Shop, command: &ReportInspected, now: Timestamp) -> Result<JobInspected, Refusal> {
    let job = open(shop, command.job)?;
    let here = at(job, "/operation", command.operation)?;
    in_range(command.at, now, || "/at".to_owned())?;
    let total = command.counts.total();
    is_count("", total)?;
    if total > u64::from(here.inspection) {
        return Err(JobRefusal::MoreThanInspected {
            job: job.id,
            operation: u32::from(here.number),
            pieces: total,
            inspection: here.inspection,
        }
        .into());
    }
    let (held, hold) = held_in_inspection(shop, job.id, here.number);
    let free = here.inspection.saturating_sub(held);
    if let Some(hold) = hold.filter(|_| total > u64::from(free)) {
        return Err(JobRefusal::HeldPieces {
            job: job.id,
            operation: u32::from(here.number),
            pieces: total,
            free,
            held,
            hold: hold.id,
        }
        .into());
    }
    Ok(JobInspected {
        job: job.id,
        operation: here.number,
        counts: command.counts,
        at: command.at,
    })
}

fn open(shop: &Shop, id: JobId) -> Result<&Job, JobRefusal> {
    let job = shop.jobs.get(&id).ok_or(JobRefusal::Unknown { job: id })?;
    let state = match job.state {
        JobState::Open => return Ok(job),
        JobState::Complete => "complete",
        JobState::Cancelled => "cancelled",
    };
    Err(JobRefusal::NotOpen { job: id, state })
}

fn at<'a>(job: &'a Job, field: &str, operation: u16) -> Result<&'a AtOperation, JobRefusal> {
    job.at(operation).ok_or_else(|| JobRefusal::UnknownOperation {
        field: field.to_owned(),
        job: job.id,
        operation: u32::from(operation),
    })
}

fn manual(job: &Job, operation: u16) -> Result<Manual, JobRefusal> {
    match job.operation(operation).map(|operation| &operation.work) {
        Some(Work::Manual(manual)) => Ok(*manual),
        _ => Err(JobRefusal::NotManual {
            field: "/operation".to_owned(),
            job: job.id,
            operation: u32::from(operation),
        }),
    }
}

/// So many wait there, or are in rework.
fn takes(
    job: &Job,
    here: &AtOperation,
    field: &str,
    pieces: u32,
    from_rework: bool,
) -> Result<(), JobRefusal> {
    is_count(field, u64::from(pieces))?;
    let available = here.available(from_rework);
    if pieces <= available {
        return Ok(());
    }
    let (field, operation) = (field.to_owned(), u32::from(here.number));
    if from_rework {
        return Err(JobRefusal::TooFewInRework {
            field,
            job: job.id,
            operation,
            pieces,
            rework: available,
        });
    }
    Err(JobRefusal::TooFewWaiting {
        field,
        job: job.id,
        operation,
        pieces,
        waiting: available,
    })
}

fn is_count(field: &str, pieces: u64) -> Result<(), JobRefusal> {
    if (1..=u64::from(PIECES_MAX)).contains(&pieces) {
        return Ok(());
    }
    Err(JobRefusal::BadPieces {
        field: field.to_owned(),
        pieces,
        max: PIECES_MAX,
    })
}
