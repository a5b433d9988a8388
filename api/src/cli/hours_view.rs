//! Hours as JSON: whole seconds with the unit in the name, every share with its denominator.

use super::hours::LogHours;
use super::hours_table::Known;
use super::row_choice::RowChoice;
use chrono::NaiveDate;
use chrono_tz::Tz;
use serde::Serialize;
use spindlebook_domain::hours::rows::{By, DayRule, Row, RowKind};
use spindlebook_domain::hours::{Category, Figures, HoursReport, Share};
use spindlebook_domain::time::Window;
use std::collections::BTreeMap;
use std::path::Path;

#[derive(Serialize)]
pub struct LogView<'a> {
    file: String,
    rows_read: usize,
    rows_out_of_order: usize,
    rows_repeated: usize,
    rows_superseded: usize,
    rows_unchanged: usize,
    columns_left_alone: &'a [String],
    #[serde(flatten)]
    hours: HoursView,
}

impl<'a> LogView<'a> {
    pub fn new(file: &Path, log: &'a LogHours, hours: HoursView) -> Self {
        Self {
            file: file.display().to_string(),
            rows_read: log.rows,
            rows_out_of_order: log.counts.out_of_order,
            rows_repeated: log.counts.repeated,
            rows_superseded: log.counts.superseded,
            rows_unchanged: log.counts.unchanged,
            columns_left_alone: &log.unused_columns,
            hours,
        }
    }
}

#[derive(Serialize)]
pub struct HoursView {
    zone: Tz,
    by: By,
    day_rule: DayRule,
    from: String,
    to: String,
    /// Without a calendar the fields about people are null.
    calendar_known: bool,
    rows: Vec<RowView>,
    total: FiguresView,
}

#[derive(Serialize)]
struct RowView {
    kind: RowKind,
    name: String,
    date: NaiveDate,
    from: String,
    to: String,
    is_part: bool,
    in_progress: bool,
    #[serde(flatten)]
    figures: FiguresView,
}

#[derive(Serialize)]
struct FiguresView {
    window_s: i64,
    staffed_s: Option<i64>,
    realised_s: i64,
    idle_s: i64,
    /// The categories add up to `window_s`.
    categories: BTreeMap<&'static str, i64>,
    shares: Vec<ShareView>,
    provisional: bool,
}

#[derive(Serialize)]
struct ShareView {
    of: &'static str,
    part_s: i64,
    of_s: i64,
    percent: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    note: Option<&'static str>,
}

impl HoursView {
    pub fn new(report: &HoursReport, zone: Tz, choice: RowChoice, window: Window, known: Known) -> Self {
        let rows = report
            .rows
            .iter()
            .map(|row| RowView::new(&row.row, &row.cell, known));
        Self {
            zone,
            by: choice.by(),
            day_rule: choice.day_rule(),
            from: window.from.to_string(),
            to: window.to.to_string(),
            calendar_known: known.calendar,
            rows: rows.collect(),
            total: FiguresView::new(&report.total, known),
        }
    }
}

impl RowView {
    fn new(row: &Row, figures: &Figures, known: Known) -> Self {
        Self {
            kind: row.kind,
            name: row.name.clone(),
            date: row.date,
            from: row.window.from.to_string(),
            to: row.window.to.to_string(),
            is_part: row.is_clipped(),
            in_progress: row.in_progress,
            figures: FiguresView::new(figures, known),
        }
    }
}

impl FiguresView {
    fn new(figures: &Figures, known: Known) -> Self {
        let mut categories: BTreeMap<_, _> = Category::ALL
            .iter()
            .map(|category| (category.name(), figures.seconds[*category]))
            .collect();
        if !known.calendar {
            // Nobody knows who was there: the two halves are one.
            for (whole, halves) in [
                ("in_cycle", ["in_cycle_attended", "in_cycle_unattended"]),
                ("idle", ["idle_attended", "idle_unattended"]),
            ] {
                let sum = halves.iter().filter_map(|half| categories.remove(half)).sum();
                categories.insert(whole, sum);
            }
        }
        let shares = [
            figures.share_of_window(),
            figures.share_of_staffed().filter(|_| known.calendar),
        ];
        Self {
            window_s: figures.window_s,
            staffed_s: known.calendar.then_some(figures.staffed_s),
            realised_s: figures.realised_s(),
            idle_s: figures.idle_s(),
            categories,
            shares: shares.into_iter().flatten().map(ShareView::new).collect(),
            provisional: figures.provisional,
        }
    }
}

impl ShareView {
    fn new(share: Share) -> Self {
        Self {
            of: share.of,
            part_s: share.part_s,
            of_s: share.of_s,
            percent: share.percent(),
            note: share.note(),
        }
    }
}
