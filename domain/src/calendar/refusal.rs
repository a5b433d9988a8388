use super::{BREAKS_MAX, EXCEPTIONS_MAX, SHIFTS_MAX, TimeOfDay};
use chrono::NaiveDate;

/// Why a calendar is none: the field that is wrong, what is wrong with it and what would be right.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{pointer}: {rule}")]
pub struct CalendarRefusal {
    /// JSON pointer into the calendar, like `/shifts/2/breaks/0/ends`.
    pub pointer: String,
    pub rule: CalendarRule,
}

#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum CalendarRule {
    #[error("a calendar has at most {SHIFTS_MAX} weekly shifts, not {count}")]
    TooManyShifts { count: usize },
    #[error("a calendar has at most {EXCEPTIONS_MAX} exceptions, not {count}: begin a new version of it")]
    TooManyExceptions { count: usize },
    #[error("a shift has at most {BREAKS_MAX} breaks, not {count}")]
    TooManyBreaks { count: usize },
    #[error("a break from {starts} to {ends} has no length: let it end after it begins")]
    BreakWithoutLength { starts: TimeOfDay, ends: TimeOfDay },
    #[error(
        "the break from {starts} to {ends} is not inside of its shift: keep it between {shift_starts} and {shift_ends}"
    )]
    BreakOutsideShift {
        starts: TimeOfDay,
        ends: TimeOfDay,
        shift_starts: TimeOfDay,
        shift_ends: TimeOfDay,
    },
    #[error(
        "the break begins at {starts}, while another one lasts until {other_ends}: begin it then, or end the other one earlier"
    )]
    BreaksOverlap {
        starts: TimeOfDay,
        other_ends: TimeOfDay,
    },
    #[error(
        "{shift} begins while {other} lasts: begin it at {other_ends} or later, or end {other} by {starts}"
    )]
    ShiftsOverlap {
        shift: String,
        starts: TimeOfDay,
        other: String,
        other_ends: TimeOfDay,
    },
    #[error("{date} is not a date that a calendar can name: use 2000-01-01 to 2199-12-31")]
    DateOutOfRange { date: NaiveDate },
    #[error("{date} is closed already by another exception: name it once")]
    ClosedTwice { date: NaiveDate },
}

impl CalendarRefusal {
    pub const CODES: &'static [&'static str] = &[
        "calendar.too-many-shifts",
        "calendar.too-many-exceptions",
        "calendar.too-many-breaks",
        "calendar.break-without-length",
        "calendar.break-outside-shift",
        "calendar.breaks-overlap",
        "calendar.shifts-overlap",
        "calendar.date-out-of-range",
        "calendar.closed-twice",
    ];

    pub const fn code(&self) -> &'static str {
        match self.rule {
            CalendarRule::TooManyShifts { .. } => "calendar.too-many-shifts",
            CalendarRule::TooManyExceptions { .. } => "calendar.too-many-exceptions",
            CalendarRule::TooManyBreaks { .. } => "calendar.too-many-breaks",
            CalendarRule::BreakWithoutLength { .. } => "calendar.break-without-length",
            CalendarRule::BreakOutsideShift { .. } => "calendar.break-outside-shift",
            CalendarRule::BreaksOverlap { .. } => "calendar.breaks-overlap",
            CalendarRule::ShiftsOverlap { .. } => "calendar.shifts-overlap",
            CalendarRule::DateOutOfRange { .. } => "calendar.date-out-of-range",
            CalendarRule::ClosedTwice { .. } => "calendar.closed-twice",
        }
    }
}
