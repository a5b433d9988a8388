//! Material and release: a released line is a job with the routing of that moment.

use super::change::open_line;
use super::enter::{is_date, known};
use super::{
    ExpectMaterial, Line, LineReleased, LineState, MaterialArrived, MaterialExpected, Order, OrderRefusal,
    ReceiveMaterial, ReleaseLine, ReleaseOrder,
};
use crate::event::Event;
use crate::ids::JobId;
use crate::inspection::{FirstArticleDue, lapse};
use crate::job::{JOBS_MAX, PIECES_MAX};
use crate::machine::in_range;
use crate::refusal::Refusal;
use crate::shop::Shop;
use crate::time::Timestamp;

pub fn expect_material(shop: &Shop, command: &ExpectMaterial) -> Result<MaterialExpected, OrderRefusal> {
    let (order, line) = open_line(shop, command.order, command.line)?;
    if line.material.arrived.is_some() {
        return Err(OrderRefusal::AlreadyArrived { line: line.number });
    }
    if let Some(expected) = command.expected {
        is_date("/expected".to_owned(), expected)?;
    }
    Ok(MaterialExpected {
        order: order.id,
        line: line.number,
        expected: command.expected,
    })
}

/// A certificate may come after the material, once.
pub fn receive_material(
    shop: &Shop,
    command: &ReceiveMaterial,
    now: Timestamp,
) -> Result<MaterialArrived, Refusal> {
    let (order, line) = open_line(shop, command.order, command.line)?;
    in_range(command.at, now, || "/at".to_owned())?;
    let arrived = line.material.arrived.as_ref();
    let has_paper = arrived.is_some_and(|arrived| arrived.certificate.is_some());
    if has_paper || (arrived.is_some() && command.certificate.is_none()) {
        return Err(OrderRefusal::AlreadyArrived { line: line.number }.into());
    }
    Ok(MaterialArrived {
        order: order.id,
        line: line.number,
        at: arrived.map_or(command.at, |arrived| arrived.at),
        certificate: command.certificate.clone(),
    })
}

pub fn release(shop: &Shop, command: &ReleaseOrder, now: Timestamp) -> Result<Vec<Event>, OrderRefusal> {
    let order = known(shop, command.order)?;
    let wanted = wanted(order, &command.lines)?;
    if shop.jobs.len() + wanted.len() > JOBS_MAX {
        return Err(OrderRefusal::TooManyJobs { max: JOBS_MAX });
    }
    let mut ids = command.jobs.iter();
    let mut events = Vec::with_capacity(wanted.len());
    for (line, blanks) in wanted {
        let part = shop.parts.get(&line.part);
        let revision = part.and_then(|part| part.revision(&line.revision));
        let routed = revision.filter(|revision| revision.routing.is_some());
        let revision = routed.ok_or_else(|| OrderRefusal::NoRouting {
            line: line.number,
            part: line.part,
            revision: line.revision.clone(),
        })?;
        let job = ids.next().copied().unwrap_or(JobId(uuid::Uuid::nil()));
        if job.0.is_nil() || shop.jobs.get(&job).is_some() {
            return Err(OrderRefusal::JobIdTaken { job });
        }
        events.push(
            LineReleased {
                order: order.id,
                line: line.number,
                job,
                blanks,
                routing_seq: revision.routing_seq,
            }
            .into(),
        );
        if let Some(lapse) = lapse(shop, order.customer, line.part, now) {
            let due = FirstArticleDue {
                job,
                last_finished: lapse.last_finished,
                days: lapse.days,
                after_months: lapse.after_months,
            };
            events.push(due.into());
        }
    }
    Ok(events)
}

/// The lines with their blanks.
fn wanted<'a>(order: &'a Order, named: &[ReleaseLine]) -> Result<Vec<(&'a Line, u32)>, OrderRefusal> {
    if named.is_empty() {
        let entered = order.lines.iter().filter(|line| line.state == LineState::Entered);
        let all: Vec<_> = entered.map(|line| (line, line.quantity)).collect();
        return if all.is_empty() {
            Err(OrderRefusal::NothingToRelease { order: order.id })
        } else {
            Ok(all)
        };
    }
    let mut wanted = Vec::with_capacity(named.len());
    for (index, one) in named.iter().enumerate() {
        let line = order.line(one.line).ok_or(OrderRefusal::UnknownLine {
            order: order.id,
            line: one.line,
        })?;
        if named[..index].iter().any(|before| before.line == one.line) {
            return Err(OrderRefusal::ReleasedTwice {
                field: format!("/lines/{index}/line"),
                line: one.line,
            });
        }
        match line.state {
            LineState::Entered => {}
            LineState::Released { .. } => return Err(OrderRefusal::AlreadyReleased { line: line.number }),
            LineState::Complete { .. } => return Err(closed(line, "complete")),
            LineState::Cancelled { .. } => return Err(closed(line, "cancelled")),
        }
        let blanks = one.blanks.unwrap_or(line.quantity);
        if blanks > PIECES_MAX {
            return Err(OrderRefusal::BadBlanks {
                field: format!("/lines/{index}/blanks"),
                blanks,
                max: PIECES_MAX,
            });
        }
        wanted.push((line, blanks));
    }
    Ok(wanted)
}

const fn closed(line: &Line, state: &'static str) -> OrderRefusal {
    OrderRefusal::LineClosed {
        line: line.number,
        state,
    }
}
