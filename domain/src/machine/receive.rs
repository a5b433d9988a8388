//! What machines tell: states, whole cycles, counter readings. Late and repeated rows are normal; they are counted
//! and sorted in, never refused. What cannot be true is refused and changes nothing.

use super::decide::known;
use super::{
    CYCLES_MAX, ClockOffset, CyclesReceived, Machine, MachineRefusal, READINGS_MAX, Reading,
    ReadingsReceived, ReceiveReadings, ReceiveSignals, SIGNAL_ROWS_MAX, SIGNAL_ROWS_PER_ENTRY_MAX,
    SignalsReceived,
};
use crate::command::Context;
use crate::event::Event;
use crate::ids::MachineId;
use crate::shared_map::SharedMap;
use crate::stretches::{CYCLE_MAX_S, normalise};
use crate::time::{Timestamp, US_PER_SECOND, Window};

/// How far ahead of our clock an instant may lie: clocks of a shop differ by less once they are set.
pub const FUTURE_MAX_S: i64 = 300;
/// A smaller offset cannot be told from the time that a message takes, and is left alone.
pub const CLOCK_OFFSET_MIN_US: i64 = 2 * US_PER_SECOND;
/// Counters count whole seconds, readings are typed by people: so much more than the time that passed is rounding.
const COUNTER_SLACK_S: i64 = 60;

type Machines = SharedMap<MachineId, Machine>;

/// One entry per 5,000 new rows, and one for the cycles. Nothing new gives no entry.
pub fn signals(
    machines: &Machines,
    command: &ReceiveSignals,
    context: &Context<'_>,
) -> Result<Vec<Event>, MachineRefusal> {
    let machine = known(machines, command.machine)?;
    at_most(command.rows.len(), SIGNAL_ROWS_MAX)?;
    at_most(command.cycles.len(), CYCLES_MAX)?;
    let offset_us = offset_us(command.clock)?;
    let rows: Vec<_> = command
        .rows
        .iter()
        .map(|(at, state)| (at.plus_us(offset_us), *state))
        .collect();
    for (index, (at, _)) in rows.iter().enumerate() {
        in_range(*at, context.now, || format!("/transitions/{index}/at"))?;
    }
    let cycles = cycles(command, offset_us, context.now)?;
    let new = normalise(
        &context.stretches.states_near(machine.id, &rows),
        machine.heard_until,
        &rows,
    );
    let chunks = new.rows.chunks(SIGNAL_ROWS_PER_ENTRY_MAX);
    let mut packed: Vec<_> = chunks
        .filter_map(|rows| SignalsReceived::pack(machine.id, offset_us, rows))
        .collect();
    if let Some(first) = packed.first_mut() {
        first.repeated = count(new.counts.repeated + new.counts.superseded);
        first.out_of_order = count(new.counts.out_of_order);
    }
    Ok(packed
        .into_iter()
        .map(Event::from)
        .chain(cycles.map(Event::from))
        .collect())
}

/// A batch has at most [`SIGNAL_ROWS_MAX`] rows.
fn count(rows: usize) -> u32 {
    u32::try_from(rows).unwrap_or(u32::MAX)
}

fn cycles(
    command: &ReceiveSignals,
    offset_us: i64,
    now: Timestamp,
) -> Result<Option<CyclesReceived>, MachineRefusal> {
    let shifted = |window: &Window| Window::new(window.from.plus_us(offset_us), window.to.plus_us(offset_us));
    let covers = command.covers.as_ref().map(shifted);
    let mut cycles: Vec<_> = command.cycles.iter().map(shifted).collect();
    for (index, cycle) in cycles.iter().enumerate() {
        is_one_cycle(*cycle, now, &format!("/cycles/{index}"))?;
    }
    if let Some(covers) = covers {
        is_one_cycle(covers, now, "/covers")?;
    }
    let mut outside = cycles.iter().enumerate();
    let outside = covers.and_then(|covers| outside.find(|(_, cycle)| !covers.encloses(**cycle)));
    if let Some((index, &Window { from, to })) = outside {
        return Err(MachineRefusal::CoversTooLittle { index, from, to });
    }
    cycles.sort_by_key(|cycle| (cycle.from, cycle.to));
    cycles.dedup();
    let anything = covers.is_some() || !cycles.is_empty();
    Ok(anything.then_some(CyclesReceived {
        machine: command.machine,
        clock_offset_us: offset_us,
        cycles,
        covers,
    }))
}

fn is_one_cycle(Window { from, to }: Window, now: Timestamp, field: &str) -> Result<(), MachineRefusal> {
    in_range(from, now, || format!("{field}/from"))?;
    in_range(to, now, || format!("{field}/to"))?;
    let end = || format!("{field}/to");
    if to <= from {
        return Err(MachineRefusal::CycleEmpty {
            field: end(),
            from,
            to,
        });
    }
    if to.since_us(from) > CYCLE_MAX_S * US_PER_SECOND {
        return Err(MachineRefusal::CycleTooLong {
            field: end(),
            from,
            to,
            most_s: CYCLE_MAX_S,
        });
    }
    Ok(())
}

/// Readings come in order; each is held against the one before it. A gateway may send its buffer again: what is known
/// in the same words is dropped, however old. A new reading between known ones is refused: it is a correction.
pub fn readings(
    machines: &Machines,
    command: &ReceiveReadings,
    context: &Context<'_>,
) -> Result<Vec<Event>, MachineRefusal> {
    let machine = known(machines, command.machine)?;
    at_most(command.readings.len(), READINGS_MAX)?;
    let offset_us = offset_us(command.clock)?;
    let mut last = machine.last_reading;
    let mut new = Vec::with_capacity(command.readings.len());
    for (index, reading) in command.readings.iter().enumerate() {
        let reading = Reading {
            at: reading.at.plus_us(offset_us),
            ..*reading
        };
        in_range(reading.at, context.now, || format!("/readings/{index}/at"))?;
        if last == Some(reading) || context.stretches.has_reading(machine.id, &reading) {
            continue;
        }
        if let Some(last) = last {
            is_plausible(&last, &reading, index)?;
        }
        last = Some(reading);
        new.push(reading);
    }
    if new.is_empty() {
        return Ok(Vec::new());
    }
    Ok(vec![
        ReadingsReceived {
            machine: machine.id,
            clock_offset_us: offset_us,
            readings: new,
        }
        .into(),
    ])
}

fn is_plausible(last: &Reading, reading: &Reading, index: usize) -> Result<(), MachineRefusal> {
    let at = reading.at;
    if at <= last.at {
        return Err(MachineRefusal::ReadingNotNewer {
            index,
            at,
            last: last.at,
        });
    }
    if reading.reset {
        return Ok(());
    }
    let elapsed_s = (at.since_us(last.at) / US_PER_SECOND).unsigned_abs();
    let gained = |counter, value_s: u64, last_s: u64| {
        let gained_s = value_s
            .checked_sub(last_s)
            .ok_or(MachineRefusal::CounterWentBack {
                index,
                counter,
                at,
                value_s,
                last_s,
            })?;
        if gained_s > elapsed_s + COUNTER_SLACK_S.unsigned_abs() {
            return Err(MachineRefusal::FasterThanTime {
                index,
                counter,
                at,
                gained_s,
                elapsed_s,
            });
        }
        Ok(gained_s)
    };
    let powered_on_gained_s = gained("powered_on_s", reading.powered_on_s, last.powered_on_s)?;
    let in_cut_gained_s = gained("in_cut_s", reading.in_cut_s, last.in_cut_s)?;
    if in_cut_gained_s > powered_on_gained_s + COUNTER_SLACK_S.unsigned_abs() {
        return Err(MachineRefusal::CutExceedsPowered {
            index,
            at,
            in_cut_gained_s,
            powered_on_gained_s,
        });
    }
    Ok(())
}

/// An instant as the device told it, put right by the difference between its clock and ours.
pub fn corrected(at: Timestamp, clock: Option<ClockOffset>) -> Timestamp {
    at.plus_us(offset_us(clock).unwrap_or(0))
}

/// What to add to the device's instants: the same for all of a call, so that durations never change.
fn offset_us(clock: Option<ClockOffset>) -> Result<i64, MachineRefusal> {
    let Some(ClockOffset {
        device_sent_at,
        received_at,
    }) = clock
    else {
        return Ok(0);
    };
    if device_sent_at < Timestamp::MIN {
        return Err(MachineRefusal::ClockUnusable {
            device_sent_at,
            earliest: Timestamp::MIN,
        });
    }
    let offset_us = received_at.since_us(device_sent_at);
    Ok(if offset_us.abs() < CLOCK_OFFSET_MIN_US {
        0
    } else {
        offset_us
    })
}

/// `field` is asked for only where the instant is refused.
pub fn in_range(at: Timestamp, now: Timestamp, field: impl FnOnce() -> String) -> Result<(), MachineRefusal> {
    if at < Timestamp::MIN {
        return Err(MachineRefusal::OutOfRange {
            field: field(),
            at,
            earliest: Timestamp::MIN,
        });
    }
    if at > now.plus_s(FUTURE_MAX_S) {
        return Err(MachineRefusal::InFuture {
            field: field(),
            at,
            now,
            most_s: FUTURE_MAX_S,
        });
    }
    Ok(())
}

fn at_most(rows: usize, max: usize) -> Result<(), MachineRefusal> {
    if rows > max {
        Err(MachineRefusal::TooManyRows { rows, max })
    } else {
        Ok(())
    }
}
