//! The rows of a report.

use crate::time::{Timestamp, Window};
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum By {
    Shift,
    Day,
    Week,
    Month,
}

/// Which day a night shift belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
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
