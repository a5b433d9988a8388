//! Hours as JSON: whole seconds with the unit in the name, every share with its denominator.

use super::cell_hours::CellHours;
use super::failure::Failure;
use super::hours::LogHours;
use super::hours_table::Known;
use super::row_choice::RowChoice;
use chrono::NaiveDate;
use chrono_tz::Tz;
use serde::Serialize;
use spindlebook_domain::cell::Cell;
use spindlebook_domain::hours::rows::{By, DayRule, Row, RowKind};
use spindlebook_domain::hours::{Category, Figures, HoursReport, Share};
use spindlebook_domain::time::Window;
use std::collections::BTreeMap;
use std::io::Write;
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
    /// Null without a plan, which is not the same as a plan for nothing.
    planned_s: Option<i64>,
    planned_over_s: i64,
    realised_s: i64,
    idle_s: i64,
    /// The categories add up to `window_s`.
    categories: BTreeMap<&'static str, i64>,
    shares: Vec<ShareView>,
    provisional: bool,
    restated_at: Option<String>,
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
            planned_s: figures.planned_s,
            planned_over_s: figures.planned_over_s,
            realised_s: figures.realised_s(),
            idle_s: figures.idle_s(),
            categories,
            shares: shares.into_iter().flatten().map(ShareView::new).collect(),
            provisional: figures.provisional,
            restated_at: figures.restated_at.map(|at| at.to_string()),
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

/// Cell and machines, row by row.
#[derive(Serialize)]
pub struct CellView {
    cell: String,
    as_of: String,
    seq: u64,
    #[serde(flatten)]
    hours: HoursView,
    machines: Vec<MachineView>,
}

#[derive(Serialize)]
struct MachineView {
    machine: String,
    rows: Vec<RowView>,
    total: FiguresView,
}

const ALL_KNOWN: Known = Known {
    calendar: true,
    plans: true,
};

impl CellView {
    pub fn new(hours: &CellHours, cell: &Cell, choice: RowChoice, window: Window) -> Self {
        let machines = hours
            .machines
            .iter()
            .zip(&hours.report.machine_totals)
            .enumerate();
        let machines = machines.map(|(index, (machine, (_, total)))| MachineView {
            machine: machine.code.to_string(),
            rows: hours
                .report
                .rows
                .iter()
                .map(|row| RowView::new(&row.row, &row.machines[index].figures, ALL_KNOWN))
                .collect(),
            total: FiguresView::new(total, ALL_KNOWN),
        });
        Self {
            cell: cell.code.to_string(),
            as_of: hours.as_of.to_string(),
            seq: hours.seq,
            hours: HoursView::new(&hours.report, hours.zone, choice, window, ALL_KNOWN),
            machines: machines.collect(),
        }
    }
}

/// One line for the cell and one for each machine of every row, all in seconds.
pub fn write_csv(hours: &CellHours, cell: &Cell, out: &mut dyn Write) -> Result<(), Failure> {
    let mut csv = csv::Writer::from_writer(out);
    let fixed = [
        "cell",
        "machine",
        "kind",
        "name",
        "date",
        "from",
        "to",
        "planned_s",
        "planned_over_s",
        "realised_s",
    ];
    let categories = Category::ALL.map(|category| format!("{}_s", category.name()));
    let last = ["window_s", "staffed_s", "provisional", "restated_at"];
    let header = fixed
        .into_iter()
        .map(str::to_owned)
        .chain(categories)
        .chain(last.map(str::to_owned));
    csv.write_record(header).map_err(csv_failure)?;
    for row in &hours.report.rows {
        let machines = row.machines.iter().zip(&hours.machines);
        let machines = machines.map(|(figures, machine)| (machine.code.as_str(), &figures.figures));
        for (machine, figures) in std::iter::once(("", &row.cell)).chain(machines) {
            csv.write_record(csv_row(cell, machine, &row.row, figures))
                .map_err(csv_failure)?;
        }
    }
    Ok(csv.flush()?)
}

fn csv_row(cell: &Cell, machine: &str, row: &Row, figures: &Figures) -> Vec<String> {
    let mut fields = vec![
        cell.code.to_string(),
        machine.to_owned(),
        format!("{:?}", row.kind).to_lowercase(),
        row.name.clone(),
        row.date.to_string(),
        row.window.from.to_string(),
        row.window.to.to_string(),
        figures.planned_s.map(|s| s.to_string()).unwrap_or_default(),
        figures.planned_over_s.to_string(),
        figures.realised_s().to_string(),
    ];
    fields.extend(Category::ALL.map(|category| figures.seconds[category].to_string()));
    fields.extend([
        figures.window_s.to_string(),
        figures.staffed_s.to_string(),
        figures.provisional.to_string(),
        figures.restated_at.map(|at| at.to_string()).unwrap_or_default(),
    ]);
    fields
}

fn csv_failure(error: csv::Error) -> Failure {
    let text = error.to_string();
    match error.into_kind() {
        csv::ErrorKind::Io(error) => error.into(),
        _ => Failure::refused(text),
    }
}
