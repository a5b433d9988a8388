//! How the events of orders change the shop. Facts about orders that are not there change nothing.

use super::{Arrived, Line, LineFacts, LineReleased, LineState, Material, Order, Shipment};
use crate::entry::EntryMeta;
use crate::event::Event;
use crate::ids::{JobId, OrderId, Seq};
use crate::job::{Job, JobState, Release};
use crate::load::Hold;
use crate::shop::Shop;

pub fn apply(shop: &mut Shop, event: &Event, meta: &EntryMeta) {
    match event {
        Event::OrderEntered(entered) => shop.orders.insert(
            entered.order,
            Order {
                id: entered.order,
                code: entered.code.clone(),
                customer: entered.customer,
                reference: entered.reference.clone(),
                customer_approval_needed: false,
                lines: entered.lines.iter().map(|facts| line(facts, meta.seq)).collect(),
                entered_at: meta.occurred_at,
                changed_seq: meta.seq,
            },
        ),
        Event::OrderChanged(changed) => shop.orders.update(&changed.order, |order| {
            order.customer = changed.customer;
            order.reference.clone_from(&changed.reference);
            order.changed_seq = meta.seq;
        }),
        Event::LineAdded(added) => shop.orders.update(&added.order, |order| {
            order.lines.push(line(&added.line, meta.seq));
            order.lines.sort_by_key(|line| line.number);
            order.changed_seq = meta.seq;
        }),
        Event::OrderCompleted(completed) => close_order(shop, completed.order),
        Event::LineReleased(released) => release(shop, released, meta.seq),
        _ => apply_to_line(shop, event, meta),
    }
}

fn apply_to_line(shop: &mut Shop, event: &Event, meta: &EntryMeta) {
    match event {
        Event::LineChanged(changed) => {
            change(shop, changed.order, changed.line, meta.seq, |line| {
                line.quantity = changed.now.quantity;
                line.due = changed.now.due;
                line.priority = changed.now.priority;
            });
            for share in &changed.jobs {
                shop.jobs.update(&share.job, |job| {
                    job.quantity = share.quantity;
                    job.changed_seq = meta.seq;
                });
            }
        }
        Event::MaterialExpected(told) => change(shop, told.order, told.line, meta.seq, |line| {
            line.material.expected = told.expected;
        }),
        Event::MaterialArrived(arrived) => {
            let material = Arrived {
                at: arrived.at,
                certificate: arrived.certificate.clone(),
            };
            change(shop, arrived.order, arrived.line, meta.seq, |line| {
                line.material.arrived = Some(material);
            });
            for id in lots(shop, arrived.order, arrived.line) {
                shop.jobs.update(&id, |job| {
                    if job.certificate.is_none() {
                        job.certificate.clone_from(&arrived.certificate);
                        job.changed_seq = meta.seq;
                    }
                });
            }
        }
        Event::LineCancelled(cancelled) => {
            let lots = lots(shop, cancelled.order, cancelled.line);
            close_jobs(shop, &lots, JobState::Cancelled, meta.seq);
            let state = LineState::Cancelled { jobs: lots };
            change(shop, cancelled.order, cancelled.line, meta.seq, |line| {
                line.state = state;
            });
        }
        Event::LineCompleted(completed) => {
            let lots = lots(shop, completed.order, completed.line);
            close_jobs(shop, &lots, JobState::Complete, meta.seq);
            let state = LineState::Complete { jobs: lots };
            change(shop, completed.order, completed.line, meta.seq, |line| {
                line.state = state;
            });
        }
        Event::OrderShipped(sent) => change(shop, sent.order, sent.line, meta.seq, |line| {
            line.shipments.push(Shipment {
                at: sent.at,
                pieces: sent.pieces,
                job: sent.job,
            });
        }),
        _ => {}
    }
}

fn line(facts: &LineFacts, seq: Seq) -> Line {
    Line {
        number: facts.number,
        part: facts.part,
        revision: facts.revision.clone(),
        quantity: facts.quantity,
        due: facts.due,
        priority: facts.priority,
        material: facts.material.clone(),
        quoted: facts.quoted.clone(),
        state: LineState::Entered,
        shipments: Vec::new(),
        changed_seq: seq,
    }
}

/// The routing is the one that the revision has at this entry.
fn release(shop: &mut Shop, released: &LineReleased, seq: Seq) {
    let order = shop.orders.get(&released.order);
    let Some(line) = order.and_then(|order| order.line(released.line)) else {
        return;
    };
    let part = shop.parts.get(&line.part);
    let revision = part.and_then(|part| part.revision(&line.revision));
    let Some(routing) = revision.and_then(|revision| revision.routing.clone()) else {
        return;
    };
    let Material { arrived, .. } = &line.material;
    let job = Job::release(Release {
        job: released.job,
        order: released.order,
        line: released.line,
        part: line.part,
        revision: line.revision.clone(),
        routing,
        quantity: line.quantity,
        blanks: released.blanks,
        certificate: arrived.as_ref().and_then(|arrived| arrived.certificate.clone()),
        seq,
    });
    shop.jobs.insert(released.job, job);
    let jobs = vec![released.job];
    change(shop, released.order, released.line, seq, |line| {
        line.state = LineState::Released { jobs };
    });
}

/// A lot that was split off stands behind those that were there.
pub fn add_lot(shop: &mut Shop, order: OrderId, number: u32, lot: JobId, seq: Seq) {
    change(shop, order, number, seq, |line| {
        if let LineState::Released { jobs } = &mut line.state {
            jobs.push(lot);
        }
    });
}

fn close_order(shop: &mut Shop, id: OrderId) {
    let lines = shop.orders.get(&id).map_or(&[][..], |order| &order.lines);
    let lots: Vec<_> = lines.iter().flat_map(|line| line.jobs().to_vec()).collect();
    for lot in &lots {
        shop.jobs.remove(lot);
    }
    shop.orders.remove(&id);
    forget_inspections(shop, &lots);
}

fn close_jobs(shop: &mut Shop, lots: &[JobId], state: JobState, seq: Seq) {
    for lot in lots {
        shop.jobs.update(lot, |job| {
            job.state = state;
            job.changed_seq = seq;
        });
    }
    forget_inspections(shop, lots);
}

/// Nothing more of these lots is cut: what was approved of them opens nothing, and what waits for a decision about them
/// alone decides nothing.
fn forget_inspections(shop: &mut Shop, lots: &[JobId]) {
    for lot in lots {
        shop.approvals.remove(lot);
        shop.unmeasured.remove(lot);
    }
    let is_open = |lot: &JobId| shop.jobs.get(lot).is_some_and(Job::is_open);
    let is_over = |hold: &&Hold| !hold.clamped.iter().any(|one| is_open(&one.job));
    let over: Vec<_> = shop.holds.values().filter(is_over).map(|hold| hold.id).collect();
    for hold in over {
        shop.holds.remove(&hold);
    }
}

/// The lots of a line; none of one that is not there.
pub fn lots(shop: &Shop, order: OrderId, number: u32) -> Vec<JobId> {
    let line = shop.orders.get(&order).and_then(|order| order.line(number));
    line.map_or_else(Vec::new, |line| line.jobs().to_vec())
}

fn change(shop: &mut Shop, order: OrderId, number: u32, seq: Seq, change: impl FnOnce(&mut Line)) {
    shop.orders.update(&order, |order| {
        if let Some(line) = order.lines.iter_mut().find(|line| line.number == number) {
            change(line);
            line.changed_seq = seq;
        }
        order.changed_seq = seq;
    });
}
