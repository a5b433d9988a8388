//! The report of a cell: per row and machine, and sums of seconds.

use super::counters::counters;
use super::figures::Figures;
use super::planned::Plans;
use super::rows::Row;
use super::seconds::{rounded_s, window_s};
use super::sweep::{RowSeconds, sweep};
use super::touched::TouchedBy;
use crate::ids::MachineId;
use crate::machine::DownReason;
use crate::stretches::{DownMark, MachineMarks};
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
        let planned_downs = planned_downs(&input.marks.downs, as_of);
        let mut total = Figures::default();
        for (((row, swept), counters), calendar) in all.rows.iter_mut().zip(swept).zip(counted).zip(&calendar)
        {
            let mut figures = figures(&swept, &row.row, *calendar);
            figures.counters = counters;
            figures.planned_down_s = planned_down_s(&planned_downs, cell.staffed, row.row.window);
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
        by_purpose_s: swept.by_purpose_s,
        stopped_s: swept.stopped_s.clone(),
        down_s: swept.down_s.clone(),
        earned: swept.earned,
        in_cycle_by_people_s: rounded_s(swept.in_cycle_by_people_us),
        cycle_overlap_s: rounded_s(swept.cycle_overlap_us),
        run_overlap_s: rounded_s(swept.run_overlap_us),
        people_and_machine_disagree_s: rounded_s(swept.people_and_machine_disagree_us),
        pool_known_s: if swept.pool_known_us == swept.us.sum() {
            swept.window_s
        } else {
            rounded_s(swept.pool_known_us)
        },
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

/// When people had set the machine down for planned maintenance.
fn planned_downs(downs: &[DownMark], as_of: Timestamp) -> Vec<Window> {
    let planned = Some(DownReason::PlannedMaintenance.as_str());
    let ends = downs.iter().skip(1).map(|mark| mark.at).chain([as_of]);
    let stretches = downs.iter().zip(ends);
    stretches
        .filter(|(mark, _)| mark.reason.as_deref() == planned)
        .map(|(mark, end)| Window::new(mark.at, end.min(as_of)))
        .collect()
}

fn planned_down_s(downs: &[Window], staffed: &[Window], row: Window) -> i64 {
    let in_row = downs.iter().filter_map(|down| down.overlap(row));
    in_row
        .map(|down| seconds_in(staffed, &[down]).iter().sum::<i64>())
        .sum()
}
