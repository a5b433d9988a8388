//! The working calendar: when people are there. Weekly shifts with breaks, exceptions on dates, versions that apply
//! from a date on; per site, with overrides per cell.
//!
//! A shift belongs to its shift date, the date on which it begins, also when it crosses midnight. Where shifts of two
//! versions overlap at the change, the earlier one runs to its end and the later one begins then.

mod check;
mod dated;
mod refusal;
mod shift;
mod time_of_day;
mod versions;

#[cfg(test)]
mod tests;

pub use dated::{ShiftInstance, attended, production_day, shifts_in, shifts_of, staffed, staffed_us};
pub use refusal::{CalendarRefusal, CalendarRule};
pub use shift::{Break, CalendarException, Closed, Holiday, Overtime, WeeklyShift};
pub use time_of_day::{NotATimeOfDay, TimeOfDay};
pub use versions::CalendarVersions;

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

/// Ten shifts on each day of the week.
pub const SHIFTS_MAX: usize = 70;
pub const BREAKS_MAX: usize = 10;
/// Years of holidays and overtime before the calendar needs a new version.
pub const EXCEPTIONS_MAX: usize = 2_000;

/// A week that repeats, and the dates that differ from it. Always valid: no two shifts overlap.
///
/// Kept in order (shifts by weekday and time, exceptions by date), so that the same calendar is the same payload.
/// Payloads are read through [`Calendar::new`] for ever: its limits may be raised, never lowered.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "Unchecked")]
pub struct Calendar {
    shifts: Vec<WeeklyShift>,
    exceptions: Vec<CalendarException>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Unchecked {
    #[serde(default)]
    shifts: Vec<WeeklyShift>,
    #[serde(default)]
    exceptions: Vec<CalendarException>,
}

impl TryFrom<Unchecked> for Calendar {
    type Error = CalendarRefusal;
    fn try_from(unchecked: Unchecked) -> Result<Self, CalendarRefusal> {
        Self::new(unchecked.shifts, unchecked.exceptions)
    }
}

impl Calendar {
    /// The refusal points into the two lists in the order in which they were given.
    pub fn new(
        mut shifts: Vec<WeeklyShift>,
        mut exceptions: Vec<CalendarException>,
    ) -> Result<Self, CalendarRefusal> {
        check::check(&shifts, &exceptions)?;
        for shift in &mut shifts {
            sort_breaks(shift.starts, &mut shift.breaks);
        }
        for exception in &mut exceptions {
            if let CalendarException::Overtime(overtime) = exception {
                sort_breaks(overtime.starts, &mut overtime.breaks);
            }
        }
        shifts.sort_by_key(|shift| (shift.weekday.num_days_from_monday(), shift.starts));
        exceptions.sort_by_key(CalendarException::order);
        Ok(Self { shifts, exceptions })
    }

    pub fn shifts(&self) -> &[WeeklyShift] {
        &self.shifts
    }

    pub fn exceptions(&self) -> &[CalendarException] {
        &self.exceptions
    }

    /// The exceptions of one date.
    pub fn exceptions_on(&self, date: NaiveDate) -> &[CalendarException] {
        let from = self
            .exceptions
            .partition_point(|exception| exception.date() < date);
        let rest = self.exceptions.get(from..).unwrap_or_default();
        let many = rest
            .iter()
            .take_while(|exception| exception.date() == date)
            .count();
        rest.get(..many).unwrap_or_default()
    }
}

fn sort_breaks(shift_starts: TimeOfDay, breaks: &mut [Break]) {
    breaks.sort_by_key(|one| shift_starts.minutes_until(one.starts));
}
