//! One more order that is not entered yet: when it would be done, and who pays, for some sensible places in the sequence.

use super::build::Builder;
use super::check::{Fault, check};
use super::hypothetical::{Hypothetical, entered};
use super::model::{LoadKey, PlanOptions, Taken, model};
use super::schedule::{Effort, Schedule, best_sequence, read};
use super::search::Sequence;
use crate::ids::OrderId;
use crate::run::named_values;
use crate::shop::Shop;
use crate::site::Site;
use crate::time::Timestamp;
use std::collections::BTreeMap;

named_values! {
    /// Where the new order goes. What is frozen stays before it.
    pub enum RushPlace {
        /// Before everything else, which keeps its order.
        First = "first",
        /// Where all lines together are least late: everything may move.
        Best = "best",
        /// After everything else.
        Last = "last",
    }
}

#[derive(Clone, Debug)]
pub struct RushCheck {
    /// As it is planned without the new order.
    pub before: Schedule,
    /// Two places that come to the same are told once.
    pub places: Vec<RushOption>,
}

#[derive(Clone, Debug)]
pub struct RushOption {
    pub place: RushPlace,
    /// Of the new order, when its last line is there; `None`: not by this schedule.
    pub complete: Option<Timestamp>,
    pub late_s: i64,
    /// Every promised line.
    pub lines: Vec<LineMoved>,
    pub schedule: Schedule,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LineMoved {
    pub order: OrderId,
    pub line: u32,
    pub due: Option<Timestamp>,
    pub before: Option<Timestamp>,
    pub after: Option<Timestamp>,
    pub late_before_s: i64,
    pub late_after_s: i64,
}

/// Nothing is changed: the shop is copied. Each line of the new order is an order of its own, which the options may
/// promise by its ids.
pub fn rush_check(
    shop: &Shop,
    site: &Site,
    rush: &[Hypothetical],
    options: &PlanOptions,
    now: Timestamp,
    [without_it, with_it]: [Effort<'_>; 2],
) -> Result<RushCheck, Vec<Fault>> {
    let without = model(shop, site, options, now);
    let base = best_sequence(
        &Builder::new(&without.model),
        &without.model,
        without_it,
        &mut |_| {},
    );
    let before = judged(shop, site, options, now, &without, &base)?;
    let with_rush = entered(shop, rush, now);
    let orders: Vec<_> = rush.iter().map(|line| line.order).collect();
    let taken = model(&with_rush, site, options, now);
    let builder = Builder::new(&taken.model);
    let sequences = [
        (RushPlace::First, joined(&without, &base, &taken, true)),
        (
            RushPlace::Best,
            best_sequence(&builder, &taken.model, with_it, &mut |_| {}),
        ),
        (RushPlace::Last, joined(&without, &base, &taken, false)),
    ];
    let mut places: Vec<RushOption> = Vec::new();
    for (place, sequence) in sequences {
        let schedule = judged(&with_rush, site, options, now, &taken, &sequence)?;
        let option = option(place, &orders, &before, schedule);
        let is_known = |known: &RushOption| known.complete == option.complete && known.lines == option.lines;
        if !places.iter().any(is_known) {
            places.push(option);
        }
    }
    Ok(RushCheck { before, places })
}

fn judged(
    shop: &Shop,
    site: &Site,
    options: &PlanOptions,
    now: Timestamp,
    taken: &Taken,
    sequence: &Sequence,
) -> Result<Schedule, Vec<Fault>> {
    let builder = Builder::new(&taken.model);
    let mut scratch = builder.new_scratch();
    let cost = builder.build(sequence, &mut scratch);
    let schedule = read(taken, &scratch, cost);
    let faults = check(shop, site, options, now, &schedule);
    if faults.is_empty() {
        Ok(schedule)
    } else {
        Err(faults)
    }
}

/// The sequence as it was, with the new loads before or behind it.
pub(super) fn joined(without: &Taken, base: &Sequence, with: &Taken, new_first: bool) -> Sequence {
    let mut place: BTreeMap<LoadKey, (usize, u16)> = BTreeMap::new();
    for (number, task) in base.order.iter().enumerate() {
        let key = without.model.movable()[*task as usize].key;
        place.insert(key, (number, base.choice[*task as usize]));
    }
    let tasks = with.model.movable();
    let mut order: Vec<u32> = (0..).take(tasks.len()).collect();
    order.sort_by_key(|task| match place.get(&tasks[*task as usize].key) {
        Some((number, _)) => (true, *number),
        None => (!new_first, if new_first { 0 } else { usize::MAX }),
    });
    let choice = tasks
        .iter()
        .map(|load| place.get(&load.key).map_or(0, |(_, choice)| *choice));
    Sequence {
        order,
        choice: choice.collect(),
    }
}

fn option(place: RushPlace, rush: &[OrderId], before: &Schedule, schedule: Schedule) -> RushOption {
    let own = || schedule.lines.iter().filter(|line| rush.contains(&line.order));
    let ends: Option<Vec<_>> = own().map(|line| line.complete).collect();
    let complete = ends.and_then(|ends| ends.into_iter().max());
    let late_s = own().map(super::schedule::ScheduledLine::late_s).max();
    let lines = before.lines.iter().map(|line| {
        let same =
            |other: &&super::schedule::ScheduledLine| (other.order, other.line) == (line.order, line.line);
        let after = schedule.lines.iter().find(same);
        LineMoved {
            order: line.order,
            line: line.line,
            due: line.due,
            before: line.complete,
            after: after.and_then(|after| after.complete),
            late_before_s: line.late_s(),
            late_after_s: after.map_or(0, super::schedule::ScheduledLine::late_s),
        }
    });
    RushOption {
        place,
        complete,
        late_s: late_s.unwrap_or(0),
        lines: lines.collect(),
        schedule,
    }
}
