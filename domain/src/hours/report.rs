//! The report of a cell: per row and machine, and sums of seconds.

use super::counters::counters;
use super::figures::Figures;
use super::planned::Plans;
use super::rows::Row;
use super::seconds::{rounded_s, window_s};
use super::sweep::{RowSeconds, sweep};
use super::touched::TouchedBy;
use crate::ids::MachineId;
use crate::stretches::MachineMarks;
use crate::time::{Timestamp, Window};

/// What a cell's report is computed from.
#[derive(Clone, Copy, Debug)]
pub struct CellInput<'a> {
    /// Sorted and disjoint; breaks taken out.
    pub staffed: &'a [Window],
    /// Sorted and disjoint; breaks included.
    pub attended: &'a [Window],
    pub plans: &'a Plans,
    pub machines: &'a [MachineInput<'a>],
}

#[derive(Clone, Copy, Debug)]
pub struct MachineInput<'a> {
    pub machine: MachineId,
    pub marks: &'a MachineMarks,
    pub silent_after_s: Option<u32>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HoursReport {
    pub rows: Vec<ReportRow>,
    /// Sums over the rows, in the order of the machines.
    pub machine_totals: Vec<(MachineId, Figures)>,
    pub total: Figures,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReportRow {
    pub row: Row,
    pub machines: Vec<MachineRow>,
    /// Sum over the machines: of two machines, a row of 8 hours is 16 hours long.
    pub cell: Figures,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MachineRow {
    pub machine: MachineId,
    pub figures: Figures,
    /// The entries that the row rests on.
    pub touched: Option<TouchedBy>,
}

/// `rows` are sorted and disjoint, as [`super::rows::rows`] makes them.
pub fn report(rows: Vec<Row>, cell: &CellInput, as_of: Timestamp) -> HoursReport {
    let windows: Vec<_> = rows.iter().map(|row| row.window).collect();
    let staffed_s = seconds_in(cell.staffed, &windows);
    let attended_s = seconds_in(cell.attended, &windows);
    let calendar: Vec<_> = staffed_s.into_iter().zip(attended_s).collect();
    let mut all = HoursReport {
        rows: rows
            .into_iter()
            .map(|row| ReportRow {
                row,
                machines: Vec::new(),
                cell: Figures::default(),
            })
            .collect(),
        machine_totals: Vec::new(),
        total: Figures::default(),
    };
    for input in cell.machines {
        let swept = sweep(input.marks, &windows, cell.attended, as_of, input.silent_after_s);
        let counted = counters(&input.marks.readings, &windows, as_of);
        let mut total = Figures::default();
        for (((row, swept), counters), calendar) in all.rows.iter_mut().zip(swept).zip(counted).zip(&calendar)
        {
            let mut figures = figures(&swept, &row.row, *calendar);
            figures.counters = counters;
            let planned = cell.plans.planned(input.machine, &row.row.pieces);
            (figures.planned_s, figures.planned_over_s) = (planned.planned_s, planned.over_s);
            row.cell.add(&figures);
            total.add(&figures);
            row.machines.push(MachineRow {
                machine: input.machine,
                figures,
                touched: swept.touched,
            });
        }
        all.total.add(&total);
        all.machine_totals.push((input.machine, total));
    }
    all
}

fn figures(swept: &RowSeconds, row: &Row, (staffed_s, attended_s): (i64, i64)) -> Figures {
    Figures {
        window_s: swept.window_s,
        staffed_s,
        attended_s,
        seconds: swept.seconds,
        cycle_overlap_s: rounded_s(swept.cycle_overlap_us),
        in_cycle_against_down_s: rounded_s(swept.in_cycle_against_down_us),
        provisional: row.in_progress || swept.still_open,
        still_open: swept.still_open,
        restated_at: swept.restated_at,
        ..Figures::default()
    }
}

/// How much of each row the sorted, disjoint `times` cover.
fn seconds_in(times: &[Window], rows: &[Window]) -> Vec<i64> {
    let in_row = |row: &Window| {
        let first = times.partition_point(|time| time.to <= row.from);
        let common = times[first..].iter().map_while(|time| time.overlap(*row));
        common.map(window_s).sum()
    };
    rows.iter().map(in_row).collect()
}
