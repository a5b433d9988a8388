//! What machines say in the benches: made up, the same every time.

use anyhow::{Context, Result};
use chrono::{NaiveDate, Weekday};
use spindlebook_domain::calendar::{Calendar, TimeOfDay, WeeklyShift};
use spindlebook_domain::machine_state::MachineState;
use spindlebook_domain::time::{Timestamp, US_PER_SECOND};

/// 2021-01-01T00:00:00Z.
pub const BEGINS: Timestamp = Timestamp(1_609_459_200 * US_PER_SECOND);

/// A machine changes its state after 20 to 140 s: 80 s on average, a thousand times a day.
const LASTS_S: (i64, i64) = (20, 120);

/// The states of one machine, one after the other, without end.
#[derive(Clone, Debug)]
pub struct Changes {
    at: Timestamp,
    chance: u64,
    is_active: bool,
}

impl Changes {
    pub const fn of_machine(number: u64, from: Timestamp) -> Self {
        // Machines do not change their states all at the same second.
        Self {
            at: from.plus_s((number % 60).cast_signed()),
            chance: number * 2 + 1,
            is_active: false,
        }
    }
}

impl Iterator for Changes {
    type Item = (Timestamp, MachineState);

    fn next(&mut self) -> Option<Self::Item> {
        // Knuth's MMIX generator: good enough to spread lengths and states, and needs no dependency.
        self.chance = self
            .chance
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        let drawn = self.chance >> 33;
        let (at_least_s, spread_s) = LASTS_S;
        let lasts_us = at_least_s * US_PER_SECOND + drawn.cast_signed() % (spread_s * US_PER_SECOND);
        self.at = self.at.plus_us(lasts_us);
        self.is_active = !self.is_active;
        let state = match drawn % 10 {
            _ if self.is_active => MachineState::Active,
            0..6 => MachineState::Ready,
            6..9 => MachineState::Interrupted,
            _ => MachineState::FeedHold,
        };
        Some((self.at, state))
    }
}

/// Round the clock, every day of the week; valid from the given shift date on.
pub fn three_shifts() -> Result<(NaiveDate, Calendar)> {
    let time = |hour| TimeOfDay::new(hour, 0).context("an hour of the day");
    let mut shifts = Vec::new();
    for day in 0..7_u8 {
        for (name, starts, ends) in [("early", 6, 14), ("late", 14, 22), ("night", 22, 6)] {
            shifts.push(WeeklyShift {
                name: name.parse()?,
                weekday: Weekday::try_from(day)?,
                starts: time(starts)?,
                ends: time(ends)?,
                breaks: Vec::new(),
            });
        }
    }
    let valid_from = NaiveDate::from_ymd_opt(2000, 1, 1).context("a date")?;
    Ok((valid_from, Calendar::new(shifts, Vec::new())?))
}
