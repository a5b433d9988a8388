//! The rows of a report.

use super::sweep::until;
use crate::calendar::{CalendarVersions, production_day, shifts_in};
use crate::local_time::{first_of_month, local_date, monday_of, next_day, previous_day, start_of_day};
use crate::time::{Timestamp, Window};
use chrono::{Datelike, Days, Months, NaiveDate};
use chrono_tz::Tz;
use serde::{Deserialize, Serialize};

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum By {
    Shift,
    Day,
    Week,
    Month,
}

/// Which day a night shift belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DayRule {
    /// From midnight to midnight in the site's zone: a night shift is cut in two.
    Calendar,
    /// From the first shift of a shift date to the first of the next: a night shift stays whole.
    ShiftDate,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RowKind {
    Shift,
    /// Between two shifts.
    Gap,
    Day,
    Week,
    Month,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    pub kind: RowKind,
    /// The shift's name, or the row's own: `gap`, `2026-10-24`, `2026-W43`, `2026-10`.
    pub name: String,
    /// The shift date, or the first day of a day, week or month; of a gap, the day on which it begins.
    pub date: NaiveDate,
    /// What the figures are of.
    pub window: Window,
    /// The whole shift, gap, day, week or month.
    pub whole: Window,
    /// Cut off at the present instant.
    pub in_progress: bool,
    /// The shifts and gaps in it, for which plans are made.
    pub pieces: Vec<Piece>,
}

impl Row {
    /// The request, or the present instant, takes in only a part of it.
    pub fn is_clipped(&self) -> bool {
        self.window != self.whole
    }
}

/// A shift or a gap, or as much of it as lies in a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Piece {
    pub window: Window,
    /// When the whole shift or gap began: its plan is the one in force then.
    pub began: Timestamp,
}

/// How far a gap between shifts is followed beyond the request. A longer one counts as beginning with the request.
const GAP_DAYS_MAX: i64 = 35;

/// What rows are cut from.
#[derive(Clone, Copy, Debug)]
pub struct Cut<'a> {
    /// The cell's own calendar, or the site's.
    pub calendar: &'a CalendarVersions,
    pub zone: Tz,
    pub by: By,
    /// For days, weeks and months.
    pub rule: DayRule,
}

/// Rows that follow each other from the beginning of the request to its end, or to the present instant.
pub fn rows(cut: &Cut, request: Window, as_of: Timestamp) -> Vec<Row> {
    let window = until(request, as_of);
    if window.is_empty() {
        return Vec::new();
    }
    let pieces = shifts_and_gaps(cut, window);
    let wholes = match cut.by {
        By::Shift => pieces.clone(),
        By::Day | By::Week | By::Month => periods(cut, window),
    };
    let rows = wholes.into_iter().filter_map(|whole| {
        let window = whole.window.overlap(window)?;
        let piece = |piece: &Whole| {
            let began = piece.window.from;
            piece.window.overlap(window).map(|window| Piece { window, began })
        };
        let first = pieces.partition_point(|piece| piece.window.to <= window.from);
        Some(Row {
            kind: whole.kind,
            name: whole.name,
            date: whole.date,
            window,
            whole: whole.window,
            in_progress: as_of < whole.window.to.min(request.to),
            pieces: pieces[first..].iter().map_while(piece).collect(),
        })
    });
    rows.collect()
}

#[derive(Clone)]
struct Whole {
    kind: RowKind,
    name: String,
    date: NaiveDate,
    window: Window,
}

/// All shifts that reach into the window and what lies between them, each in its whole length.
fn shifts_and_gaps(cut: &Cut, window: Window) -> Vec<Whole> {
    let gap = |from: Timestamp, to: Timestamp| Whole {
        kind: RowKind::Gap,
        name: "gap".to_owned(),
        date: local_date(cut.zone, from),
        window: Window::new(from, to),
    };
    let far = GAP_DAYS_MAX * 86_400;
    let shifts_of = |from, to| shifts_in(cut.calendar, cut.zone, Window::new(from, to));
    let before = shifts_of(window.from.plus_s(-far), window.from).pop();
    let mut from = before.map_or(window.from, |shift| shift.window.to);
    let mut all = Vec::new();
    for shift in shifts_of(window.from, window.to) {
        if from < shift.window.from {
            all.push(gap(from, shift.window.from));
        }
        from = shift.window.to;
        all.push(Whole {
            kind: RowKind::Shift,
            name: shift.name.to_string(),
            date: shift.shift_date,
            window: shift.window,
        });
    }
    if from < window.to {
        let after = shifts_of(window.to, window.to.plus_s(far));
        let to = after.first().map_or(window.to, |shift| shift.window.from);
        all.push(gap(from, to));
    }
    all
}

/// The days, weeks or months that reach into the window.
fn periods(cut: &Cut, window: Window) -> Vec<Whole> {
    let starts = |date| match cut.rule {
        DayRule::Calendar => start_of_day(cut.zone, date),
        DayRule::ShiftDate => production_day(cut.calendar, cut.zone, date).from,
    };
    // A production day may begin on the evening before its date or on the morning after.
    let mut date = next_day(local_date(cut.zone, window.from));
    while window.from < starts(date) && date > NaiveDate::MIN {
        date = previous_day(date);
    }
    let mut periods = Vec::new();
    let mut first = first_date(cut.by, date);
    loop {
        let next = next_first_date(cut.by, first);
        let whole = Window::new(starts(first), starts(next));
        if whole.from >= window.to || next <= first {
            return periods;
        }
        let (kind, name) = named(cut.by, first);
        periods.push(Whole {
            kind,
            name,
            date: first,
            window: whole,
        });
        first = next;
    }
}

fn first_date(by: By, date: NaiveDate) -> NaiveDate {
    match by {
        By::Shift | By::Day => date,
        By::Week => monday_of(date),
        By::Month => first_of_month(date),
    }
}

fn next_first_date(by: By, first: NaiveDate) -> NaiveDate {
    let next = match by {
        By::Shift | By::Day => first.succ_opt(),
        By::Week => first.checked_add_days(Days::new(7)),
        By::Month => first.checked_add_months(Months::new(1)),
    };
    next.unwrap_or(first)
}

fn named(by: By, first: NaiveDate) -> (RowKind, String) {
    match by {
        By::Shift | By::Day => (RowKind::Day, first.to_string()),
        By::Week => {
            let week = first.iso_week();
            (RowKind::Week, format!("{}-W{:02}", week.year(), week.week()))
        }
        By::Month => (RowKind::Month, format!("{}-{:02}", first.year(), first.month())),
    }
}
