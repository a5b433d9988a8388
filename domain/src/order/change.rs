//! What a customer changes after ordering, and what is made, clamped, out or shipped of it already.

use super::enter::{is_current, is_date, is_quantity, known};
use super::{
    CancelLine, ChangeLine, JobQuantity, Line, LineCancelled, LineChanged, LineState, LineTerms, Order,
    OrderRefusal, deliver, jobs_of, may_ship, version,
};
use crate::event::Event;
use crate::ids::OrderId;
use crate::job::Job;
use crate::shop::Shop;

/// What a line would be like with another quantity, beside what has become of its pieces so far.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Preview {
    pub quantity: u32,
    pub made: u32,
    pub shipped: u32,
    pub waiting: u32,
    pub clamped: u32,
    pub inspection: u32,
    pub rework: u32,
    pub out: u32,
    pub still_to_make: u32,
    /// Finished pieces that may not be shipped on this line.
    pub surplus: u32,
    /// Pieces in work that nobody wants then.
    pub not_wanted: u32,
    pub material_shortfall: u32,
    pub may_ship_least: u32,
    pub may_ship_most: u32,
    /// Why it would be refused.
    pub refusal: Option<OrderRefusal>,
}

pub fn preview(shop: &Shop, order: &Order, line: &Line, quantity: u32) -> Preview {
    let refusal = may_become(line, quantity).err();
    let mut jobs: Vec<Job> = jobs_of(shop, line).cloned().collect();
    for change in shares(&jobs, line, quantity) {
        if let Some(job) = jobs.iter_mut().find(|job| job.id == change.job) {
            job.quantity = change.quantity;
        }
    }
    let of_jobs = |count: &dyn Fn(&Job) -> u32| jobs.iter().map(count).sum::<u32>();
    let at = |count: &dyn Fn(&crate::job::AtOperation) -> u32| {
        of_jobs(&|job| job.operations.iter().map(count).sum())
    };
    let may_ship = may_ship(shop, order, quantity);
    let made = of_jobs(&Job::made);
    let is_released = !jobs.is_empty();
    Preview {
        quantity,
        made,
        shipped: line.shipped(),
        waiting: at(&crate::job::AtOperation::waiting),
        clamped: at(&|at| at.clamped),
        inspection: at(&|at| at.inspection),
        rework: at(&|at| at.rework),
        out: at(&|at| at.out),
        still_to_make: if is_released {
            of_jobs(&Job::still_to_make)
        } else {
            quantity
        },
        surplus: made.saturating_sub(*may_ship.end()),
        not_wanted: of_jobs(&|job| job.in_hand().saturating_sub(job.still_to_make())),
        material_shortfall: of_jobs(&Job::material_shortfall),
        may_ship_least: *may_ship.start(),
        may_ship_most: *may_ship.end(),
        refusal,
    }
}

pub fn change_line(shop: &Shop, command: &ChangeLine) -> Result<Vec<Event>, OrderRefusal> {
    let (order, line) = open_line(shop, command.order, command.line)?;
    is_current(command.expected, version(shop, line))?;
    is_quantity("/quantity".to_owned(), command.quantity)?;
    is_date("/due".to_owned(), command.due)?;
    may_become(line, command.quantity)?;
    let jobs: Vec<Job> = jobs_of(shop, line).cloned().collect();
    let changed = LineChanged {
        order: order.id,
        line: line.number,
        was: LineTerms {
            quantity: line.quantity,
            due: line.due,
            priority: line.priority,
        },
        now: LineTerms {
            quantity: command.quantity,
            due: command.due,
            priority: command.priority,
        },
        jobs: shares(&jobs, line, command.quantity),
    };
    let mut events = vec![changed.into()];
    if line.shipped() >= command.quantity && deliver::under_way(shop, line).is_none() {
        events.extend(deliver::completed(order, line));
    }
    Ok(events)
}

pub fn cancel_line(shop: &Shop, command: &CancelLine) -> Result<Vec<Event>, OrderRefusal> {
    let (order, line) = open_line(shop, command.order, command.line)?;
    let shipped = line.shipped();
    if shipped > 0 {
        return Err(OrderRefusal::SomeShipped {
            line: line.number,
            shipped,
        });
    }
    if let Some(refusal) = deliver::under_way(shop, line) {
        return Err(refusal);
    }
    let cancelled = LineCancelled {
        order: order.id,
        line: line.number,
    };
    let mut events = vec![cancelled.into()];
    events.extend(deliver::order_completed(order, line));
    Ok(events)
}

/// The line, unless it does not change any more.
pub fn open_line(shop: &Shop, order: OrderId, number: u32) -> Result<(&Order, &Line), OrderRefusal> {
    let order = known(shop, order)?;
    let line = order.line(number).ok_or(OrderRefusal::UnknownLine {
        order: order.id,
        line: number,
    })?;
    let state = match line.state {
        LineState::Entered | LineState::Released { .. } => return Ok((order, line)),
        LineState::Complete { .. } => "complete",
        LineState::Cancelled { .. } => "cancelled",
    };
    Err(OrderRefusal::LineClosed {
        line: line.number,
        state,
    })
}

fn may_become(line: &Line, quantity: u32) -> Result<(), OrderRefusal> {
    let shipped = line.shipped();
    if quantity < shipped {
        return Err(OrderRefusal::UnderShipped {
            line: line.number,
            quantity,
            shipped,
        });
    }
    Ok(())
}

/// How the lots share a new quantity. More goes to the newest lot. Less is taken from what is still to be made, the newest lot
/// first; then from what is made and not shipped.
fn shares(jobs: &[Job], line: &Line, quantity: u32) -> Vec<JobQuantity> {
    let mut wanted: Vec<u32> = jobs.iter().map(|job| job.quantity).collect();
    let now: u32 = wanted.iter().sum();
    if let Some(newest) = wanted.last_mut() {
        *newest += quantity.saturating_sub(now);
    }
    let mut less = now.saturating_sub(quantity);
    let to_make = |index: usize, _: u32| jobs[index].still_to_make();
    let unshipped = |index: usize, wanted: u32| wanted.saturating_sub(line.shipped_of(jobs[index].id));
    let rounds: [&dyn Fn(usize, u32) -> u32; 2] = [&to_make, &unshipped];
    for can_give in rounds {
        for (index, wanted) in wanted.iter_mut().enumerate().rev() {
            let given = less.min(can_give(index, *wanted)).min(*wanted);
            *wanted -= given;
            less -= given;
        }
    }
    let changed = jobs.iter().zip(wanted);
    changed
        .filter(|(job, wanted)| job.quantity != *wanted)
        .map(|(job, quantity)| JobQuantity {
            job: job.id,
            quantity,
        })
        .collect()
}
