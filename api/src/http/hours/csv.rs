//! The report as a table: RFC 4180, one line for each row and machine and one for the cell's sum, units in the names
//! of the columns.

use super::dto::{EntriesDto, HoursDto, RowDto};
use super::figures_dto::{FiguresDto, ReasonDto, ShareDto};
use crate::problem::Problem;
use ::csv::{Terminator, WriterBuilder};
use serde::Serialize;

/// RFC 4180, section 3.
pub const MEDIA_TYPE: &str = "text/csv; charset=utf-8; header=present";

const COLUMNS: [&str; 69] = [
    "row_kind",
    "row",
    "date",
    "from",
    "to",
    "from_local",
    "to_local",
    "clipped",
    "in_progress",
    "cell",
    "machine",
    "window_s",
    "staffed_s",
    "attended_s",
    "planned_s",
    "planned_over_s",
    "realised_s",
    "in_cycle_attended_s",
    "in_cycle_unattended_s",
    "off_s",
    "down_s",
    "not_known_s",
    "stopped_in_run_s",
    "pallet_exchange_s",
    "setup_at_spindle_s",
    "waiting_for_inspection_s",
    "ready_not_started_s",
    "waiting_for_load_s",
    "unattended_run_out_s",
    "no_work_s",
    "idle_attended_s",
    "idle_unattended_s",
    "production_s",
    "prove_out_s",
    "rework_s",
    "first_piece_s",
    "no_run_recorded_s",
    "in_cycle_by_people_s",
    "stopped_without_reason_s",
    "planned_down_s",
    "earned_s",
    "produced_s",
    "powered_on_s",
    "in_cut_s",
    "counters_over_s",
    "counters_shared_s",
    "cycle_overlap_s",
    "run_overlap_s",
    "in_cycle_against_down_s",
    "people_and_machine_disagree_s",
    "pool_known_s",
    "realised_of_window_percent",
    "realised_of_staffed_percent",
    "realised_of_planned_percent",
    "earned_of_realised_percent",
    "in_cut_of_powered_on_percent",
    "produced",
    "good",
    "scrap",
    "uncounted_runs",
    "stopped_reasons",
    "down_reasons",
    "provisional",
    "restated_at",
    "entries",
    "last_seq",
    "entries_href",
    "as_of",
    "seq",
];

pub fn table(report: &HoursDto) -> Result<Vec<u8>, Problem> {
    let mut writer = WriterBuilder::new()
        .terminator(Terminator::CRLF)
        .from_writer(Vec::new());
    let fault = |error: &dyn std::fmt::Display| Problem::fault(error);
    writer.write_record(COLUMNS).map_err(|error| fault(&error))?;
    for row in &report.rows {
        for machine in &row.machines {
            let line = Line {
                report,
                row,
                machine: machine.code.as_str(),
                figures: &machine.figures,
                entries: machine.entries.as_ref(),
                entries_href: &machine.entries_href,
            };
            writer.write_record(line.cells()).map_err(|error| fault(&error))?;
        }
        let sum = Line {
            report,
            row,
            machine: "",
            figures: &row.total,
            entries: None,
            entries_href: "",
        };
        writer.write_record(sum.cells()).map_err(|error| fault(&error))?;
    }
    writer.into_inner().map_err(|error| fault(&error))
}

/// A machine in a row, or the row's sum, which names no machine.
struct Line<'a> {
    report: &'a HoursDto,
    row: &'a RowDto,
    machine: &'a str,
    figures: &'a FiguresDto,
    entries: Option<&'a EntriesDto>,
    entries_href: &'a str,
}

impl Line<'_> {
    fn cells(&self) -> Vec<String> {
        let (report, row) = (self.report, self.row);
        let mut cells = vec![
            plain(&row.kind),
            harmless(&row.name),
            plain(&row.date),
            plain(&row.from),
            plain(&row.to),
            row.from_local.clone(),
            row.to_local.clone(),
            plain(&row.clipped),
            plain(&row.in_progress),
            harmless(report.cell.code.as_str()),
            harmless(self.machine),
        ];
        cells.extend(self.figures());
        cells.extend([
            plain(&self.figures.provisional),
            plain(&self.figures.restated_at),
            plain(&self.entries.map(|entries| entries.count)),
            plain(&self.entries.map(|entries| entries.last_seq)),
            self.entries_href.to_owned(),
            plain(&report.as_of),
            plain(&report.seq),
        ]);
        cells
    }

    fn figures(&self) -> Vec<String> {
        let figures = self.figures;
        let whole = [
            Some(figures.window_s),
            Some(figures.staffed_s),
            Some(figures.attended_s),
            figures.planned_s,
            Some(figures.planned_over_s),
            Some(figures.realised_s),
            Some(figures.in_cycle_attended_s),
            Some(figures.in_cycle_unattended_s),
            Some(figures.off_s),
            Some(figures.down_s),
            Some(figures.not_known_s),
            Some(figures.stopped_in_run_s),
            Some(figures.pallet_exchange_s),
            Some(figures.setup_at_spindle_s),
            Some(figures.waiting_for_inspection_s),
            Some(figures.ready_not_started_s),
            Some(figures.waiting_for_load_s),
            Some(figures.unattended_run_out_s),
            Some(figures.no_work_s),
            Some(figures.idle_attended_s),
            Some(figures.idle_unattended_s),
            Some(figures.production_s),
            Some(figures.prove_out_s),
            Some(figures.rework_s),
            Some(figures.first_piece_s),
            Some(figures.no_run_recorded_s),
            Some(figures.in_cycle_by_people_s),
            Some(figures.stopped_without_reason_s),
            Some(figures.planned_down_s),
            figures.earned_s,
            figures.produced_s,
            figures.powered_on_s,
            figures.in_cut_s,
            figures.counters_over_s,
            figures.counters_shared_s,
            Some(figures.cycle_overlap_s),
            Some(figures.run_overlap_s),
            Some(figures.in_cycle_against_down_s),
            Some(figures.people_and_machine_disagree_s),
            Some(figures.pool_known_s),
        ];
        let percent = |share: &Option<ShareDto>| share.as_ref().map(|share| share.percent);
        let shares = [
            percent(&figures.realised_of_window),
            percent(&figures.realised_of_staffed),
            percent(&figures.realised_of_planned),
            percent(&figures.earned_of_realised),
            percent(&figures.utilisation),
        ];
        let pieces = [
            figures.produced,
            figures.good,
            figures.scrap,
            figures.uncounted_runs,
        ];
        let reasons = [&figures.stopped_reasons, &figures.down_reasons].map(|reasons| in_words(reasons));
        let whole = whole.iter().map(plain);
        let counts = shares.iter().map(plain).chain(pieces.iter().map(plain));
        whole.chain(counts).chain(reasons).collect()
    }
}

/// As JSON writes it, without quotes; null is an empty cell.
fn plain(value: &impl Serialize) -> String {
    match serde_json::to_value(value) {
        Ok(serde_json::Value::String(text)) => text,
        Ok(serde_json::Value::Null) | Err(_) => String::new(),
        Ok(other) => other.to_string(),
    }
}

/// `alarm 35400 s; tooling 60 s`.
fn in_words(reasons: &[ReasonDto]) -> String {
    let words = reasons
        .iter()
        .map(|one| format!("{} {} s", one.reason, one.length_s));
    harmless(&words.collect::<Vec<_>>().join("; "))
}

/// A text that a spreadsheet would take for a formula gets an apostrophe in front.
fn harmless(text: &str) -> String {
    if text.starts_with(['=', '+', '-', '@', '\t', '\r']) {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::{COLUMNS, harmless, plain};

    #[test]
    fn what_looks_like_a_formula_is_made_harmless() {
        for text in ["=1+1", "+1", "-A", "@SUM(A1)", "\tx"] {
            assert_eq!(harmless(text), format!("'{text}"));
        }
        assert_eq!(harmless("M-1"), "M-1");
    }

    #[test]
    fn every_column_says_what_it_is_in() {
        let seconds = COLUMNS.iter().filter(|column| column.ends_with("_s")).count();
        let percents = COLUMNS
            .iter()
            .filter(|column| column.ends_with("_percent"))
            .count();
        assert_eq!((seconds, percents), (40, 5));
        assert_eq!(plain(&None::<i64>), "");
        assert_eq!(plain(&"2026-10-25"), "2026-10-25");
    }
}
