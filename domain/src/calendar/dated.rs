use super::{Break, CalendarException, CalendarVersions, Overtime, TimeOfDay, WeeklyShift};
use crate::code::Name;
use crate::local_time::{boundary, local_date, next_day, previous_day, start_of_day};
use crate::time::{Timestamp, US_PER_SECOND, Window};
use chrono::{Datelike, NaiveDate};
use chrono_tz::Tz;

/// A shift on its date, as instants.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ShiftInstance {
    pub name: Name,
    /// The date on which it begins by the wall clock.
    pub shift_date: NaiveDate,
    pub window: Window,
    /// In order, inside of `window`, without overlap.
    pub breaks: Vec<Window>,
    pub overtime: bool,
}

/// The shifts that overlap the window, in order and not cut to it. Shifts never overlap each other.
pub fn shifts_in(versions: &CalendarVersions, zone: Tz, window: Window) -> Vec<ShiftInstance> {
    let mut shifts = Vec::new();
    // Nothing is booked outside of what the ledger takes, and a typo in a year must not cost minutes.
    let Some(window) = window.overlap(Window::new(Timestamp::MIN, Timestamp::MAX)) else {
        return shifts;
    };
    // A shift ends on the day after its date at the latest.
    let mut date = previous_day(local_date(zone, window.from));
    let last = local_date(zone, window.to);
    let mut busy_until = end_of_shifts(versions, zone, previous_day(date));
    while date <= last {
        let on_date = dated_shifts(versions, date);
        for shift in &on_date {
            shifts.extend(
                shift
                    .instance(zone, busy_until)
                    .filter(|one| one.window.overlap(window).is_some()),
            );
        }
        busy_until = busy_until.max(latest_end(&on_date, zone));
        date = next_day(date);
    }
    shifts
}

/// The shifts with one shift date, in order.
pub fn shifts_of(versions: &CalendarVersions, zone: Tz, date: NaiveDate) -> Vec<ShiftInstance> {
    let busy_until = end_of_shifts(versions, zone, previous_day(date));
    dated_shifts(versions, date)
        .iter()
        .filter_map(|shift| shift.instance(zone, busy_until))
        .collect()
}

/// When people work: shifts without their breaks, cut to the window; stretches that touch are one.
pub fn staffed(versions: &CalendarVersions, zone: Tz, window: Window) -> Vec<Window> {
    let mut stretches = Vec::new();
    for shift in shifts_in(versions, zone, window) {
        let mut from = shift.window.from;
        for pause in &shift.breaks {
            push(&mut stretches, Window::new(from, pause.from), window);
            from = pause.to;
        }
        push(&mut stretches, Window::new(from, shift.window.to), window);
    }
    stretches
}

/// When somebody is there: shifts with their breaks, cut to the window; stretches that touch are one.
pub fn attended(versions: &CalendarVersions, zone: Tz, window: Window) -> Vec<Window> {
    let mut stretches = Vec::new();
    for shift in shifts_in(versions, zone, window) {
        push(&mut stretches, shift.window, window);
    }
    stretches
}

/// The length of [`staffed`].
pub fn staffed_us(versions: &CalendarVersions, zone: Tz, window: Window) -> i64 {
    staffed(versions, zone, window).into_iter().map(Window::us).sum()
}

/// The day of a shift date: from the start of its first shift to the same boundary of the next date. A date without
/// shifts begins at midnight, or when the last shift of the day before has ended if that is later.
///
/// Production days follow each other without gap or overlap, and a shift lies wholly in the day of its date.
pub fn production_day(versions: &CalendarVersions, zone: Tz, date: NaiveDate) -> Window {
    Window::new(
        day_boundary(versions, zone, date),
        day_boundary(versions, zone, next_day(date)),
    )
}

fn day_boundary(versions: &CalendarVersions, zone: Tz, date: NaiveDate) -> Timestamp {
    let busy_until = end_of_shifts(versions, zone, previous_day(date));
    let first = dated_shifts(versions, date)
        .iter()
        .find_map(|shift| shift.instance(zone, busy_until));
    first.map_or_else(
        || start_of_day(zone, date).max(busy_until),
        |shift| shift.window.from,
    )
}

/// When the last shift of a date has ended; the start of the date if it has none.
fn end_of_shifts(versions: &CalendarVersions, zone: Tz, date: NaiveDate) -> Timestamp {
    latest_end(&dated_shifts(versions, date), zone).max(start_of_day(zone, date))
}

fn latest_end(shifts: &[DatedShift<'_>], zone: Tz) -> Timestamp {
    shifts
        .iter()
        .map(|shift| shift.ends_at(zone))
        .max()
        .unwrap_or(Timestamp(i64::MIN))
}

/// The shifts of a date as the calendar states them, in order.
fn dated_shifts(versions: &CalendarVersions, date: NaiveDate) -> Vec<DatedShift<'_>> {
    let calendar = versions.for_date(date);
    let exceptions = calendar.exceptions_on(date);
    let mut shifts = Vec::new();
    if !exceptions.iter().any(CalendarException::closes) {
        let weekday = date.weekday();
        let weekly = calendar.shifts().iter().filter(|shift| shift.weekday == weekday);
        shifts.extend(weekly.map(|shift| DatedShift::weekly(shift, date)));
    }
    shifts.extend(exceptions.iter().filter_map(|exception| match exception {
        CalendarException::Overtime(overtime) => Some(DatedShift::overtime(overtime)),
        CalendarException::Holiday(_) | CalendarException::Closed(_) => None,
    }));
    shifts.sort_by_key(|shift| shift.starts);
    shifts
}

struct DatedShift<'a> {
    name: &'a Name,
    date: NaiveDate,
    starts: TimeOfDay,
    ends: TimeOfDay,
    breaks: &'a [Break],
    overtime: bool,
}

impl<'a> DatedShift<'a> {
    fn weekly(shift: &'a WeeklyShift, date: NaiveDate) -> Self {
        let WeeklyShift {
            name,
            starts,
            ends,
            breaks,
            ..
        } = shift;
        Self {
            name,
            date,
            starts: *starts,
            ends: *ends,
            breaks,
            overtime: false,
        }
    }

    fn overtime(shift: &'a Overtime) -> Self {
        let Overtime {
            name,
            date,
            starts,
            ends,
            breaks,
        } = shift;
        Self {
            name,
            date: *date,
            starts: *starts,
            ends: *ends,
            breaks,
            overtime: true,
        }
    }

    fn ends_at(&self, zone: Tz) -> Timestamp {
        let minutes = self.starts.shift_minutes_until(self.ends);
        boundary(zone, self.starts.local(self.date, minutes)).at
    }

    /// `None` where nothing is left of it: it lies in a gap, or under a shift that still runs.
    fn instance(&self, zone: Tz, busy_until: Timestamp) -> Option<ShiftInstance> {
        let starts_at = boundary(zone, self.starts.local(self.date, 0)).at;
        let window = Window::new(starts_at.max(busy_until), self.ends_at(zone));
        (!window.is_empty()).then(|| ShiftInstance {
            name: self.name.clone(),
            shift_date: self.date,
            window,
            breaks: self.breaks_within(zone, window),
            overtime: self.overtime,
        })
    }

    /// Breaks lie where the wall clock says. One that begins or ends in a gap or in a doubled hour keeps its length from
    /// its start on: people rest half an hour also when the clock jumps meanwhile.
    fn breaks_within(&self, zone: Tz, window: Window) -> Vec<Window> {
        let mut breaks: Vec<Window> = Vec::with_capacity(self.breaks.len());
        let mut rested_until = Timestamp(i64::MIN);
        for pause in self.breaks {
            let after_min = self.starts.minutes_until(pause.starts);
            let length_min = pause.starts.minutes_until(pause.ends);
            let starts = boundary(zone, self.starts.local(self.date, after_min));
            let ends = boundary(zone, self.starts.local(self.date, after_min + length_min));
            let starts_at = starts.at.max(rested_until);
            let by_the_clock = starts.once && ends.once && starts_at == starts.at;
            let length_us = i64::from(length_min) * 60 * US_PER_SECOND;
            rested_until = if by_the_clock {
                ends.at
            } else {
                starts_at.plus_us(length_us)
            };
            breaks.extend(Window::new(starts_at, rested_until).overlap(window));
        }
        breaks
    }
}

fn push(stretches: &mut Vec<Window>, stretch: Window, window: Window) {
    let Some(stretch) = stretch.overlap(window) else {
        return;
    };
    match stretches.last_mut() {
        Some(last) if last.to == stretch.from => last.to = stretch.to,
        _ => stretches.push(stretch),
    }
}
