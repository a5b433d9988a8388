//! Entering an order and its lines, and changing what stands above the lines.

use super::{
    AddLine, ChangeOrder, EnterOrder, LINE_NUMBER_MAX, LINES_MAX, LineAdded, LineFacts, NewLine, ORDERS_MAX,
    Order, OrderChanged, OrderEntered, OrderRefusal, QUOTED_MAX,
};
use crate::event::Event;
use crate::ids::{CustomerId, OrderId, Seq};
use crate::inspection::OrderApprovalSet;
use crate::job::PIECES_MAX;
use crate::shop::Shop;
use chrono::NaiveDate;

pub fn enter(shop: &Shop, command: &EnterOrder) -> Result<Vec<Event>, OrderRefusal> {
    if shop.orders.get(&command.order).is_some() {
        return Err(OrderRefusal::IdTaken { order: command.order });
    }
    let mut orders = shop.orders.values();
    if let Some(other) = orders.find(|other| other.code.is_spoken_like(&command.code)) {
        return Err(OrderRefusal::CodeTaken {
            code: command.code.clone(),
            order: other.id,
        });
    }
    if shop.orders.len() >= ORDERS_MAX {
        return Err(OrderRefusal::TooMany { max: ORDERS_MAX });
    }
    is_customer(shop, command.customer)?;
    if command.lines.is_empty() {
        return Err(OrderRefusal::NoLine {});
    }
    if command.lines.len() > LINES_MAX {
        return Err(OrderRefusal::TooManyLines { max: LINES_MAX });
    }
    let lines = numbered(shop, &command.lines)?;
    let entered = OrderEntered {
        order: command.order,
        code: command.code.clone(),
        customer: command.customer,
        reference: command.reference.clone(),
        lines,
    };
    let asks = approval_set(command.order, false, command.customer_approval_needed);
    Ok(std::iter::once(entered.into()).chain(asks).collect())
}

/// The lines in the order of their numbers. Those without one are numbered behind the highest that was given.
fn numbered(shop: &Shop, new: &[NewLine]) -> Result<Vec<LineFacts>, OrderRefusal> {
    let given: Vec<_> = new.iter().map(|line| line.number).collect();
    for (index, number) in given.iter().enumerate() {
        number.map_or(Ok(()), |number| is_number(&format!("/lines/{index}"), number))?;
    }
    let mut free = given.iter().flatten().max().map_or(1, |highest| highest + 1);
    let mut lines = Vec::with_capacity(new.len());
    for (index, line) in new.iter().enumerate() {
        let number = line.number.unwrap_or(free);
        free += u32::from(line.number.is_none());
        let is_taken = given[..index].contains(&Some(number));
        lines.push(facts(shop, &format!("/lines/{index}"), line, number, is_taken)?);
    }
    lines.sort_by_key(|line| line.number);
    Ok(lines)
}

pub fn change(shop: &Shop, command: &ChangeOrder) -> Result<Vec<Event>, OrderRefusal> {
    let order = known(shop, command.order)?;
    // What was seen may be newer by what has happened to the lots; that does not touch what is changed here.
    let seen = command
        .expected
        .filter(|seen| !(order.changed_seq..=shop.seq).contains(seen));
    is_current(seen, order.changed_seq)?;
    is_customer(shop, command.customer)?;
    let changed = OrderChanged {
        order: order.id,
        customer: command.customer,
        reference: command.reference.clone(),
    };
    let was = order.customer_approval_needed;
    let asks = approval_set(order.id, was, command.customer_approval_needed);
    Ok(std::iter::once(changed.into()).chain(asks).collect())
}

/// An entry of its own, only where it changes.
fn approval_set(order: OrderId, was: bool, customer_approval_needed: bool) -> Option<Event> {
    let set = OrderApprovalSet {
        order,
        customer_approval_needed,
    };
    (was != customer_approval_needed).then(|| set.into())
}

pub fn add_line(shop: &Shop, command: &AddLine) -> Result<LineAdded, OrderRefusal> {
    let order = known(shop, command.order)?;
    if order.lines.len() >= LINES_MAX {
        return Err(OrderRefusal::TooManyLines { max: LINES_MAX });
    }
    let highest = order.lines.last().map_or(0, |line| line.number);
    let number = command.line.number.unwrap_or(highest + 1);
    let is_taken = order.line(number).is_some();
    Ok(LineAdded {
        order: order.id,
        line: facts(shop, "", &command.line, number, is_taken)?,
    })
}

pub fn known(shop: &Shop, order: OrderId) -> Result<&Order, OrderRefusal> {
    shop.orders.get(&order).ok_or(OrderRefusal::Unknown { order })
}

pub const fn is_current(expected: Option<Seq>, current: Seq) -> Result<(), OrderRefusal> {
    match expected {
        Some(expected) if expected != current => Err(OrderRefusal::Stale { expected, current }),
        _ => Ok(()),
    }
}

pub fn is_quantity(field: String, quantity: u32) -> Result<(), OrderRefusal> {
    if (1..=PIECES_MAX).contains(&quantity) {
        return Ok(());
    }
    Err(OrderRefusal::BadQuantity {
        field,
        quantity,
        max: PIECES_MAX,
    })
}

/// A slip in a year is told before anybody plans by it.
pub fn is_date(field: String, date: NaiveDate) -> Result<(), OrderRefusal> {
    let earliest = NaiveDate::from_ymd_opt(2000, 1, 1).unwrap_or(NaiveDate::MIN);
    let latest = NaiveDate::from_ymd_opt(2199, 12, 31).unwrap_or(NaiveDate::MAX);
    if (earliest..=latest).contains(&date) {
        return Ok(());
    }
    Err(OrderRefusal::BadDate {
        field,
        date,
        earliest,
        latest,
    })
}

fn is_customer(shop: &Shop, customer: Option<CustomerId>) -> Result<(), OrderRefusal> {
    match customer {
        Some(customer) if shop.customers.get(&customer).is_none() => {
            Err(OrderRefusal::UnknownCustomer { customer })
        }
        _ => Ok(()),
    }
}

fn facts(
    shop: &Shop,
    at: &str,
    line: &NewLine,
    number: u32,
    is_taken: bool,
) -> Result<LineFacts, OrderRefusal> {
    let field = |name: &str| format!("{at}/{name}");
    is_number(at, number)?;
    if is_taken {
        return Err(OrderRefusal::LineTaken {
            field: field("number"),
            number,
        });
    }
    let part = shop
        .parts
        .get(&line.part)
        .ok_or_else(|| OrderRefusal::UnknownPart {
            field: field("part"),
            part: line.part,
        })?;
    let revision = part.revision(&line.revision);
    let revision = revision.ok_or_else(|| OrderRefusal::UnknownRevision {
        field: field("revision"),
        part: part.id,
        revision: line.revision.clone(),
    })?;
    is_quantity(field("quantity"), line.quantity)?;
    is_date(field("due"), line.due)?;
    if let Some(expected) = line.material.expected {
        is_date(field("material/expected"), expected)?;
    }
    is_quoted(&field("quoted"), line)?;
    Ok(LineFacts {
        number,
        part: part.id,
        revision: revision.facts.revision.clone(),
        quantity: line.quantity,
        due: line.due,
        priority: line.priority,
        material: line.material.clone(),
        quoted: line.quoted.clone(),
    })
}

fn is_number(at: &str, number: u32) -> Result<(), OrderRefusal> {
    if (1..=LINE_NUMBER_MAX).contains(&number) {
        return Ok(());
    }
    Err(OrderRefusal::BadLineNumber {
        field: format!("{at}/number"),
        number,
        max: LINE_NUMBER_MAX,
    })
}

fn is_quoted(field: &str, line: &NewLine) -> Result<(), OrderRefusal> {
    if line.quoted.len() > QUOTED_MAX {
        return Err(OrderRefusal::TooManyQuoted {
            field: field.to_owned(),
            max: QUOTED_MAX,
        });
    }
    for (index, quoted) in line.quoted.iter().enumerate() {
        let before = &line.quoted[..index];
        if before.iter().any(|other| other.operation == quoted.operation) {
            return Err(OrderRefusal::QuotedTwice {
                field: format!("{field}/{index}/operation"),
                operation: u32::from(quoted.operation),
            });
        }
    }
    Ok(())
}
