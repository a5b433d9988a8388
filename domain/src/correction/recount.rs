//! The pieces were counted wrong: the difference is booked, if the pieces are still where they were counted to.

use super::decide::not_for_this;
use super::{BookedPieces, Correct, CorrectionRefusal, PalletRecounted};
use crate::command::Context;
use crate::event::Event;
use crate::floor::{Count, work};
use crate::ids::{CellId, LoadId, MachineId, PalletId, RunId};
use crate::job::{Job, changed};
use crate::order::line_of;
use crate::refusal::Refusal;
use crate::shop::Shop;
use crate::stretches::{CountedMark, Layer, Portion, RowKey, StretchDays};
use crate::time::Timestamp;
use std::collections::BTreeSet;

/// A run that began longer before it was counted is not found again: its worth in hours stays as it was booked.
const BEGAN_BEFORE_DAYS: i64 = 7;

struct Said<'a> {
    pallet: PalletId,
    load: LoadId,
    run: Option<RunId>,
    counts: &'a [Count],
}

pub fn recount(
    shop: &Shop,
    command: &Correct,
    counts: &[Count],
    context: &Context<'_>,
) -> Result<PalletRecounted, Refusal> {
    let Some(said) = said(&command.event) else {
        return Err(not_for_this(command, "other counts"));
    };
    if said.counts == counts {
        return Err(CorrectionRefusal::SameCounts {}.into());
    }
    are_the_same_pieces(said.counts, counts)?;
    for (was, now) in pairs(said.counts, counts) {
        nothing_has_moved_on(shop, was, now)?;
    }
    let cell = shop.pallets.get(&said.pallet).map(|pallet| pallet.cell);
    let booked = said.run.zip(cell).and_then(|(run, cell)| {
        let (machine, mark) = booked(shop, context.stretches, run, cell)?;
        Some(worth(shop, cell, machine, &mark, said.counts, counts))
    });
    Ok(PalletRecounted {
        corrects: command.corrects,
        pallet: said.pallet,
        load: said.load,
        run: said.run,
        was: said.counts.to_vec(),
        counts: counts.to_vec(),
        booked,
        note: command.note.clone(),
    })
}

const fn said(event: &Event) -> Option<Said<'_>> {
    Some(match event {
        Event::PalletUnloaded(event) => Said {
            pallet: event.pallet,
            load: event.load,
            run: event.run,
            counts: event.counts.as_slice(),
        },
        Event::PalletRecounted(event) => Said {
            pallet: event.pallet,
            load: event.load,
            run: event.run,
            counts: event.counts.as_slice(),
        },
        _ => return None,
    })
}

const fn is_of(one: &Count, other: &Count) -> bool {
    one.operation == other.operation && one.rework == other.rework
}

/// Each count as it was with what it is now; those that stay are left out.
pub fn pairs<'a>(was: &'a [Count], now: &'a [Count]) -> impl Iterator<Item = (&'a Count, &'a Count)> {
    let pair = |one: &'a Count| {
        let same = now
            .iter()
            .find(|other| other.job == one.job && is_of(one, other))?;
        (same != one).then_some((one, same))
    };
    was.iter().filter_map(pair)
}

fn are_the_same_pieces(was: &[Count], now: &[Count]) -> Result<(), CorrectionRefusal> {
    let counted = |one: &Count, of: &[Count]| -> u64 {
        let same = of
            .iter()
            .filter(|other| other.job == one.job && is_of(one, other));
        same.map(Count::total).sum()
    };
    let unlike = was
        .iter()
        .chain(now)
        .find(|one| counted(one, was) != counted(one, now));
    match unlike {
        Some(one) => Err(CorrectionRefusal::NotTheSamePieces {
            job: one.job,
            operation: u32::from(one.operation),
            clamped: counted(one, was),
            counted: counted(one, now),
        }),
        None => Ok(()),
    }
}

/// What is taken back from a pile must still lie in it.
fn nothing_has_moved_on(shop: &Shop, was: &Count, now: &Count) -> Result<(), CorrectionRefusal> {
    let closed = CorrectionRefusal::JobClosed { job: was.job };
    let job = shop
        .jobs
        .get(&was.job)
        .filter(|job| job.is_open())
        .ok_or(closed)?;
    for Taken { pile, wanted, there } in taken(shop, job, was, now) {
        if wanted > there {
            return Err(CorrectionRefusal::PiecesMovedOn {
                job: was.job,
                operation: u32::from(was.operation),
                pile: pile.to_owned(),
                wanted: u64::from(wanted),
                there: u64::from(there),
            });
        }
    }
    Ok(())
}

struct Taken {
    pile: &'static str,
    wanted: u32,
    there: u32,
}

fn taken(shop: &Shop, job: &Job, was: &Count, now: &Count) -> Vec<Taken> {
    let Some(index) = job.operations.iter().position(|at| at.number == was.operation) else {
        return Vec::new();
    };
    let at = &job.operations[index];
    let less = |was: u32, now: u32| was.saturating_sub(now);
    let good = if let Some(next) = job.operations.get(index + 1) {
        ("what waits at the next operation", next.waiting())
    } else {
        let shipped = line_of(shop, job).map_or(0, |line| line.shipped_of(job.id));
        ("what is made and not shipped", job.made().saturating_sub(shipped))
    };
    let (waits, uncut) = (less(was.uncut, now.uncut), was.rework);
    let of_rework = less(was.to_rework, now.to_rework) + if uncut { waits } else { 0 };
    let pile = |(pile, there): (&'static str, u32), wanted: u32| Taken { pile, wanted, there };
    vec![
        pile(good, less(was.good, now.good)),
        pile(("scrap", at.scrapped), less(was.scrapped, now.scrapped)),
        pile(
            ("inspection", at.inspection),
            less(was.to_inspection, now.to_inspection),
        ),
        pile(("rework", at.rework), of_rework),
        pile(("what waits", at.waiting()), if uncut { 0 } else { waits }),
    ]
}

/// The days on which the run may have begun, on every machine of the cell.
pub fn rows(shop: &Shop, event: &Event) -> BTreeSet<RowKey> {
    let at = match event {
        Event::PalletUnloaded(event) => Some(event.at),
        Event::PalletRecounted(event) => event.booked.map(|booked| booked.from),
        _ => None,
    };
    let Some((said, at)) = said(event).zip(at) else {
        return BTreeSet::new();
    };
    let Some(pallet) = shop.pallets.get(&said.pallet).filter(|_| said.run.is_some()) else {
        return BTreeSet::new();
    };
    let machines = shop
        .machines
        .values()
        .filter(|machine| machine.cell == pallet.cell);
    machines
        .flat_map(|machine| days(at).map(|day| (machine.id.into(), Layer::Counted, day)))
        .collect()
}

fn days(at: Timestamp) -> impl Iterator<Item = i64> {
    at.utc_day() - BEGAN_BEFORE_DAYS..=at.utc_day()
}

/// What stands of the run among the marks.
fn booked(
    shop: &Shop,
    stretches: &StretchDays,
    run: RunId,
    cell: CellId,
) -> Option<(MachineId, CountedMark)> {
    let machines = shop.machines.values().filter(|machine| machine.cell == cell);
    let of_machines = machines.flat_map(|machine| {
        let rows = stretches.rows_of(machine.id.into(), Layer::Counted);
        rows.filter_map(move |row| Some((machine.id, row.newest_counted(run)?)))
    });
    of_machines.last()
}

fn worth(
    shop: &Shop,
    cell: CellId,
    machine: MachineId,
    mark: &CountedMark,
    was: &[Count],
    now: &[Count],
) -> BookedPieces {
    let mut booked = BookedPieces {
        machine,
        from: mark.from,
        to: mark.window().to,
        purpose: mark.purpose,
        earned_s: mark.earned_s,
        produced_s: mark.produced_s,
        produced: mark.produced,
        good: mark.good,
        scrap: mark.scrap,
    };
    for (was, now) in pairs(was, now) {
        let place = work::place(shop, was.job, was.operation, cell);
        let in_load = u32::try_from(was.total()).unwrap_or(u32::MAX);
        let cycle_s = place.map_or(0, |place| place.cycle.of_load_s(in_load));
        let share_s = |pieces: u32| {
            let (part, whole) = (pieces, in_load);
            Portion { part, whole }.of(i64::try_from(cycle_s).unwrap_or(i64::MAX))
        };
        let off = |count: &Count| in_load.saturating_sub(count.uncut);
        booked.earned_s += share_s(now.good) - share_s(was.good);
        booked.good = changed(booked.good, was.good, now.good);
        booked.scrap = changed(booked.scrap, was.scrapped, now.scrapped);
        // A piece that is put right came off when it was cut first.
        if !was.rework {
            booked.produced_s += share_s(off(now)) - share_s(off(was));
            booked.produced = changed(booked.produced, off(was), off(now));
        }
    }
    booked.earned_s = booked.earned_s.max(0);
    booked.produced_s = booked.produced_s.max(0);
    booked
}
