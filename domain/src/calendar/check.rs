use super::{BREAKS_MAX, EXCEPTIONS_MAX, SHIFTS_MAX};
use super::{Break, CalendarException, CalendarRefusal, CalendarRule, TimeOfDay, WeeklyShift};
use crate::code::Name;
use chrono::{Datelike, NaiveDate};
use std::collections::BTreeSet;

const MINUTES_PER_DAY: i64 = 1_440;
const MINUTES_PER_WEEK: i64 = 7 * MINUTES_PER_DAY;

pub(super) fn check(shifts: &[WeeklyShift], exceptions: &[CalendarException]) -> Result<(), CalendarRefusal> {
    if shifts.len() > SHIFTS_MAX {
        return refuse("/shifts", CalendarRule::TooManyShifts { count: shifts.len() });
    }
    if exceptions.len() > EXCEPTIONS_MAX {
        return refuse(
            "/exceptions",
            CalendarRule::TooManyExceptions {
                count: exceptions.len(),
            },
        );
    }
    for (index, shift) in shifts.iter().enumerate() {
        let pointer = format!("/shifts/{index}");
        check_breaks(&pointer, shift.starts, shift.ends, &shift.breaks)?;
    }
    let mut closed = BTreeSet::new();
    for (index, exception) in exceptions.iter().enumerate() {
        check_exception(&exception_pointer(index, exception), exception, &mut closed)?;
    }
    check_week(shifts)?;
    check_overtime(shifts, exceptions, &closed)
}

fn check_exception(
    pointer: &str,
    exception: &CalendarException,
    closed: &mut BTreeSet<NaiveDate>,
) -> Result<(), CalendarRefusal> {
    let date = exception.date();
    if !(2000..2200).contains(&date.year()) {
        return refuse(format!("{pointer}/date"), CalendarRule::DateOutOfRange { date });
    }
    if exception.closes() && !closed.insert(date) {
        return refuse(format!("{pointer}/date"), CalendarRule::ClosedTwice { date });
    }
    match exception {
        CalendarException::Holiday(_) | CalendarException::Closed(_) => Ok(()),
        CalendarException::Overtime(one) => check_breaks(pointer, one.starts, one.ends, &one.breaks),
    }
}

fn check_breaks(
    pointer: &str,
    shift_starts: TimeOfDay,
    shift_ends: TimeOfDay,
    breaks: &[Break],
) -> Result<(), CalendarRefusal> {
    if breaks.len() > BREAKS_MAX {
        return refuse(
            format!("{pointer}/breaks"),
            CalendarRule::TooManyBreaks { count: breaks.len() },
        );
    }
    let shift_min = shift_starts.shift_minutes_until(shift_ends);
    let mut spans = Vec::with_capacity(breaks.len());
    for (index, Break { starts, ends }) in breaks.iter().copied().enumerate() {
        let (after_min, length_min) = (shift_starts.minutes_until(starts), starts.minutes_until(ends));
        if length_min == 0 {
            let rule = CalendarRule::BreakWithoutLength { starts, ends };
            return refuse(format!("{pointer}/breaks/{index}/ends"), rule);
        }
        if after_min + length_min > shift_min {
            let field = if after_min >= shift_min { "starts" } else { "ends" };
            let rule = CalendarRule::BreakOutsideShift {
                starts,
                ends,
                shift_starts,
                shift_ends,
            };
            return refuse(format!("{pointer}/breaks/{index}/{field}"), rule);
        }
        spans.push((after_min, after_min + length_min, index, starts));
    }
    spans.sort_unstable();
    for pair in spans.windows(2) {
        if let [(_, other_to, ..), (from, _, index, starts)] = *pair
            && from < other_to
        {
            let rule = CalendarRule::BreaksOverlap {
                starts,
                other_ends: shift_starts.plus_minutes(other_to),
            };
            return refuse(format!("{pointer}/breaks/{index}/starts"), rule);
        }
    }
    Ok(())
}

/// A shift as minutes of the wall clock since some midnight.
#[derive(Clone, Debug)]
struct Span<'a> {
    from: i64,
    to: i64,
    pointer: String,
    name: &'a Name,
    day: String,
    starts: TimeOfDay,
    ends: TimeOfDay,
}

impl<'a> Span<'a> {
    fn weekly(index: usize, shift: &'a WeeklyShift, day_from: i64, day: String) -> Self {
        let pointer = format!("/shifts/{index}/starts");
        Self::new(&shift.name, shift.starts, shift.ends, day_from, day, pointer)
    }

    fn new(
        name: &'a Name,
        starts: TimeOfDay,
        ends: TimeOfDay,
        day_from: i64,
        day: String,
        pointer: String,
    ) -> Self {
        let from = day_from + i64::from(starts.minutes_since_midnight());
        let to = from + i64::from(starts.shift_minutes_until(ends));
        Self {
            from,
            to,
            pointer,
            name,
            day,
            starts,
            ends,
        }
    }

    fn title(&self) -> String {
        format!("`{}` ({} {} to {})", self.name, self.day, self.starts, self.ends)
    }

    /// Refuses if `self`, which begins first, lasts into `later`.
    fn ends_before(&self, later: &Self, later_from: i64) -> Result<(), CalendarRefusal> {
        if self.to <= later_from {
            return Ok(());
        }
        refuse(
            later.pointer.clone(),
            CalendarRule::ShiftsOverlap {
                shift: later.title(),
                starts: later.starts,
                other: self.title(),
                other_ends: self.ends,
            },
        )
    }
}

/// The week repeats: its last shift may last into Monday, but not into Monday's first shift.
fn check_week(shifts: &[WeeklyShift]) -> Result<(), CalendarRefusal> {
    let mut spans: Vec<Span<'_>> = shifts
        .iter()
        .enumerate()
        .map(|(index, shift)| {
            let day_from = i64::from(shift.weekday.num_days_from_monday()) * MINUTES_PER_DAY;
            Span::weekly(index, shift, day_from, shift.weekday.to_string())
        })
        .collect();
    spans.sort_by_key(|span| span.from);
    for pair in spans.windows(2) {
        if let [earlier, later] = pair {
            earlier.ends_before(later, later.from)?;
        }
    }
    match (spans.first(), spans.last()) {
        (Some(first), Some(last)) if spans.len() > 1 => {
            last.ends_before(first, first.from + MINUTES_PER_WEEK)
        }
        _ => Ok(()),
    }
}

/// Overtime against other overtime, and against the weekly shifts of its date and the dates beside it that are open.
fn check_overtime(
    shifts: &[WeeklyShift],
    exceptions: &[CalendarException],
    closed: &BTreeSet<NaiveDate>,
) -> Result<(), CalendarRefusal> {
    let mut overtimes: Vec<(NaiveDate, Span<'_>)> = exceptions
        .iter()
        .enumerate()
        .filter_map(|(index, exception)| match exception {
            CalendarException::Overtime(one) => {
                let pointer = format!("{}/starts", exception_pointer(index, exception));
                let day_from = day_number(one.date) * MINUTES_PER_DAY;
                let span = Span::new(
                    &one.name,
                    one.starts,
                    one.ends,
                    day_from,
                    one.date.to_string(),
                    pointer,
                );
                Some((one.date, span))
            }
            CalendarException::Holiday(_) | CalendarException::Closed(_) => None,
        })
        .collect();
    overtimes.sort_by_key(|(_, span)| span.from);
    for pair in overtimes.windows(2) {
        if let [(_, earlier), (_, later)] = pair {
            earlier.ends_before(later, later.from)?;
        }
    }
    for (date, overtime) in &overtimes {
        for date in [date.pred_opt(), Some(*date), date.succ_opt()]
            .into_iter()
            .flatten()
        {
            if !closed.contains(&date) {
                check_against_weekly(overtime, shifts, date)?;
            }
        }
    }
    Ok(())
}

/// The pointer is always that of the overtime: the weekly shift was there before it.
fn check_against_weekly(
    overtime: &Span<'_>,
    shifts: &[WeeklyShift],
    date: NaiveDate,
) -> Result<(), CalendarRefusal> {
    let on_date = shifts
        .iter()
        .enumerate()
        .filter(|(_, shift)| shift.weekday == date.weekday());
    for (index, shift) in on_date {
        let weekly = Span::weekly(index, shift, day_number(date) * MINUTES_PER_DAY, date.to_string());
        if weekly.from <= overtime.from {
            weekly.ends_before(overtime, overtime.from)?;
        } else {
            overtime
                .ends_before(&weekly, weekly.from)
                .map_err(|refusal| CalendarRefusal {
                    pointer: overtime.pointer.replace("/starts", "/ends"),
                    ..refusal
                })?;
        }
    }
    Ok(())
}

fn exception_pointer(index: usize, exception: &CalendarException) -> String {
    let kind = match exception {
        CalendarException::Holiday(_) => "holiday",
        CalendarException::Closed(_) => "closed",
        CalendarException::Overtime(_) => "overtime",
    };
    format!("/exceptions/{index}/{kind}")
}

fn day_number(date: NaiveDate) -> i64 {
    i64::from(date.num_days_from_ce())
}

fn refuse<T>(pointer: impl Into<String>, rule: CalendarRule) -> Result<T, CalendarRefusal> {
    Err(CalendarRefusal {
        pointer: pointer.into(),
        rule,
    })
}
