//! The hours of a log as JSON, in the form in which the API gives those of a cell: whole seconds with the unit in
//! the name, every share with its denominator.

use super::hours::LogHours;
use super::hours_table::Known;
use super::row_choice::RowChoice;
use crate::http::hours::figures_dto::FiguresDto;
use chrono::NaiveDate;
use chrono_tz::Tz;
use serde::Serialize;
use serde_json::{Map, Value};
use spindlebook_domain::hours::rows::{By, DayRule, RowKind};
use spindlebook_domain::hours::{Figures, ReportRow};
use spindlebook_domain::local_time::local_instant;
use std::path::Path;

/// What only a calendar tells.
const BY_CALENDAR: [&str; 7] = [
    "staffed_s",
    "attended_s",
    "in_cycle_attended_s",
    "in_cycle_unattended_s",
    "idle_attended_s",
    "idle_unattended_s",
    "realised_of_staffed",
];

#[derive(Serialize)]
pub struct LogView<'a> {
    file: String,
    rows_read: usize,
    rows_out_of_order: usize,
    /// A later row had the same instant.
    rows_superseded: usize,
    /// They repeated the state before them.
    rows_unchanged: usize,
    columns_left_alone: &'a [String],
    zone: Tz,
    by: By,
    day_rule: DayRule,
    /// Without a calendar, what only it could tell is null.
    calendar_known: bool,
    from: String,
    to: String,
    rows: Vec<RowView>,
    total: Map<String, Value>,
}

#[derive(Serialize)]
struct RowView {
    kind: RowKind,
    name: String,
    date: NaiveDate,
    from: String,
    to: String,
    from_local: String,
    to_local: String,
    clipped: bool,
    total: Map<String, Value>,
}

impl<'a> LogView<'a> {
    pub fn new(
        file: &Path,
        log: &'a LogHours,
        zone: Tz,
        choice: RowChoice,
        known: Known,
    ) -> Result<Self, serde_json::Error> {
        let rows = log.report.rows.iter().map(|row| RowView::new(row, zone, known));
        Ok(Self {
            file: file.display().to_string(),
            rows_read: log.rows,
            rows_out_of_order: log.counts.out_of_order,
            rows_superseded: log.counts.superseded,
            rows_unchanged: log.counts.unchanged,
            columns_left_alone: &log.unused_columns,
            zone,
            by: choice.by(),
            day_rule: choice.day_rule(),
            calendar_known: known.calendar,
            from: log.window.from.to_string(),
            to: log.window.to.to_string(),
            rows: rows.collect::<Result<_, _>>()?,
            total: figures(&log.report.total, known)?,
        })
    }
}

impl RowView {
    fn new(of: &ReportRow, zone: Tz, known: Known) -> Result<Self, serde_json::Error> {
        let row = &of.row;
        Ok(Self {
            kind: row.kind,
            name: row.name.clone(),
            date: row.date,
            from: row.window.from.to_string(),
            to: row.window.to.to_string(),
            from_local: local_instant(zone, row.window.from).to_string(),
            to_local: local_instant(zone, row.window.to).to_string(),
            clipped: row.is_clipped(),
            total: figures(&of.cell, known)?,
        })
    }
}

fn figures(figures: &Figures, known: Known) -> Result<Map<String, Value>, serde_json::Error> {
    let Value::Object(mut fields) = serde_json::to_value(FiguresDto::from(figures))? else {
        return Ok(Map::new());
    };
    fields.insert("idle_s".to_owned(), figures.idle_s().into());
    if !known.calendar {
        for name in BY_CALENDAR {
            fields.insert(name.to_owned(), Value::Null);
        }
    }
    Ok(fields)
}
