//! Shipping in parts, and when a line is complete.

use super::change::open_line;
use super::{
    CompleteLine, Line, LineCompleted, LineState, Order, OrderCompleted, OrderRefusal, OrderShipped,
    SHIPMENTS_MAX, Ship, jobs_of, may_ship,
};
use crate::event::Event;
use crate::ids::JobId;
use crate::job::{AtOperation, Job, PIECES_MAX};
use crate::machine::in_range;
use crate::refusal::Refusal;
use crate::shop::Shop;
use crate::time::Timestamp;

pub fn ship(shop: &Shop, command: &Ship, now: Timestamp) -> Result<Vec<Event>, Refusal> {
    let (order, line) = open_line(shop, command.order, command.line)?;
    in_range(command.at, now, || "/at".to_owned())?;
    let pieces = command.pieces;
    if !(1..=PIECES_MAX).contains(&pieces) {
        let (field, max) = ("/pieces".to_owned(), PIECES_MAX);
        return Err(OrderRefusal::BadPieces { field, pieces, max }.into());
    }
    let job = lot(shop, line, command.job)?;
    let of_job = line.shipped_of(job.id);
    if pieces > job.made().saturating_sub(of_job) {
        return Err(OrderRefusal::NotMade {
            job: job.id,
            pieces,
            made: job.made(),
            shipped: of_job,
        }
        .into());
    }
    let (shipped, most) = (line.shipped(), *may_ship(shop, order, line.quantity).end());
    if pieces > most.saturating_sub(shipped) {
        return Err(OrderRefusal::OverTolerance {
            line: line.number,
            pieces,
            quantity: line.quantity,
            most,
            shipped,
        }
        .into());
    }
    if line.shipments.len() >= SHIPMENTS_MAX {
        return Err(OrderRefusal::TooManyShipments { max: SHIPMENTS_MAX }.into());
    }
    let sent = OrderShipped {
        order: order.id,
        line: line.number,
        job: job.id,
        pieces,
        at: command.at,
    };
    let mut events = vec![sent.into()];
    if shipped + pieces >= line.quantity && under_way(shop, line).is_none() {
        events.extend(completed(order, line));
    }
    Ok(events)
}

/// Somebody says that the customer takes it as complete: allowed from the least on that the tolerance owes.
pub fn complete_line(shop: &Shop, command: &CompleteLine) -> Result<Vec<Event>, OrderRefusal> {
    let (order, line) = open_line(shop, command.order, command.line)?;
    is_released(line)?;
    let (shipped, least) = (line.shipped(), *may_ship(shop, order, line.quantity).start());
    if shipped < least {
        return Err(OrderRefusal::NotFull {
            line: line.number,
            shipped,
            least,
        });
    }
    match under_way(shop, line) {
        Some(refusal) => Err(refusal),
        None => Ok(completed(order, line)),
    }
}

/// The line is done, and with the last one the order.
pub fn completed(order: &Order, line: &Line) -> Vec<Event> {
    let done = LineCompleted {
        order: order.id,
        line: line.number,
    };
    let mut events = vec![done.into()];
    events.extend(order_completed(order, line));
    events
}

/// If all lines but this one are closed.
pub fn order_completed(order: &Order, line: &Line) -> Option<Event> {
    let mut others = order.lines.iter().filter(|other| other.number != line.number);
    let is_last = others.all(Line::is_closed);
    is_last.then(|| OrderCompleted { order: order.id }.into())
}

/// A closed job takes no counts any more, so nothing of it may be where counts are still to come from.
pub fn under_way(shop: &Shop, line: &Line) -> Option<OrderRefusal> {
    let sum = |job: &Job, count: fn(&AtOperation) -> u32| job.operations.iter().map(count).sum::<u32>();
    jobs_of(shop, line).find_map(|job| {
        let (clamped, out) = (sum(job, |at| at.clamped), sum(job, |at| at.out));
        let inspection = sum(job, |at| at.inspection);
        (clamped + out + inspection > 0).then_some(OrderRefusal::PiecesUnderWay {
            line: line.number,
            job: job.id,
            clamped,
            out,
            inspection,
        })
    })
}

fn is_released(line: &Line) -> Result<(), OrderRefusal> {
    match line.state {
        LineState::Released { .. } => Ok(()),
        _ => Err(OrderRefusal::NotReleased { line: line.number }),
    }
}

fn lot<'a>(shop: &'a Shop, line: &'a Line, named: Option<JobId>) -> Result<&'a Job, OrderRefusal> {
    is_released(line)?;
    let lots = line.jobs();
    let job = match named {
        Some(job) => job,
        None if lots.len() == 1 => lots[0],
        None => {
            return Err(OrderRefusal::JobMissing {
                line: line.number,
                lots: lots.len(),
            });
        }
    };
    let found = shop.jobs.get(&job).filter(|_| lots.contains(&job));
    found.ok_or(OrderRefusal::UnknownJob {
        line: line.number,
        job,
    })
}
