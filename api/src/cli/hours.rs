//! `spindlebook hours`: the hours of one machine straight from its log, without a database.

use super::failure::Failure;
use super::hours_table::{self, Known, Line, count};
use super::hours_view::LogView;
use super::instant::in_zone;
use super::log_file;
use super::row_choice::RowChoice;
use super::shifts_file;
use super::signal_file::SignalFile;
use super::terminal::Terminal;
use chrono_tz::Tz;
use clap::Args;
use spindlebook_domain::calendar::{CalendarVersions, attended, staffed};
use spindlebook_domain::hours::rows::{By, Cut, DayRule, rows};
use spindlebook_domain::hours::{CellInput, HoursReport, MachineInput, Plans, report};
use spindlebook_domain::ids::MachineId;
use spindlebook_domain::stretches::{BatchCounts, MachineMarks, Mark, Source, normalise};
use spindlebook_domain::time::{Timestamp, Window};
use std::fs;
use std::path::{Path, PathBuf};
use uuid::Uuid;

const HELP: &str = "\
The file has a header `timestamp,state`; further columns are left alone. Timestamps are RFC 3339 with their offset;
states are those of MTConnect's EXECUTION (ACTIVE, READY, STOPPED, INTERRUPTED, FEED_HOLD, …), UNAVAILABLE for not
known, and OFF. A state lasts until the next row. Rows may be out of order or repeated: how many were is told.

Example:
  spindlebook hours mill3.csv --zone America/New_York --by week
  spindlebook hours mill3.csv --zone Europe/Berlin --by shift --shifts shifts.toml --json

Exit codes: 0 done; 1 the file or the shifts are not right, nothing was computed; 2 wrong usage.";

#[derive(Args, Debug)]
#[command(after_help = HELP, after_long_help = format!("{HELP}\n\nA shifts file:\n\n{}", shifts_file::EXAMPLE))]
pub struct HoursArgs {
    /// The machine's log (CSV); - reads standard input
    #[arg(value_name = "FILE.csv")]
    file: PathBuf,
    /// The IANA time zone in which days and shifts are cut, like Europe/Berlin
    #[arg(long, value_parser = crate::cli::instant::zone)]
    zone: Tz,
    #[command(flatten)]
    choice: RowChoice,
    /// A shift calendar (TOML; --help shows one): tells attended from unattended, and gives staffed hours
    #[arg(long, value_name = "FILE.toml")]
    shifts: Option<PathBuf>,
    /// Begin here instead of at the first row: an instant, a local time, or a date (its first instant)
    #[arg(long)]
    from: Option<String>,
    /// End here instead of at the last row; the last state is taken to last until then
    #[arg(long)]
    to: Option<String>,
    /// Print JSON, in seconds
    #[arg(long)]
    json: bool,
}

/// The computation and what it was made from.
pub struct LogHours {
    pub report: HoursReport,
    pub window: Window,
    pub rows: usize,
    pub counts: BatchCounts,
    pub unused_columns: Vec<String>,
}

pub fn run(args: &HoursArgs, terminal: &mut Terminal) -> Result<(), Failure> {
    let calendar = args.shifts.as_deref().map(read_shifts).transpose()?;
    if args.choice.by() == By::Shift && calendar.is_none() {
        return Err(Failure::usage(
            "--by shift needs the shifts: add --shifts FILE.toml (see --help)",
        ));
    }
    if args.choice.day_rule() == DayRule::ShiftDate && calendar.is_none() {
        return Err(Failure::usage(
            "--day-rule shift-date needs the shifts: add --shifts FILE.toml (see --help)",
        ));
    }
    let file = log_file::read(&args.file, "computed")?;
    let window = window(args, &file)?;
    let hours = compute(file, window, args, calendar.as_ref());
    let known = Known {
        calendar: calendar.is_some(),
        plans: false,
    };
    if args.json {
        let view = LogView::new(&args.file, &hours, args.zone, args.choice, known)?;
        return terminal.json(&view);
    }
    print(&hours, args, known, terminal)
}

fn read_shifts(path: &Path) -> Result<CalendarVersions, Failure> {
    let refuse = |why: String| Failure::refused(format!("{}: {why}", path.display()));
    let text = fs::read_to_string(path).map_err(|error| refuse(format!("cannot be read: {error}")))?;
    shifts_file::parse(&text).map_err(refuse)
}

/// From the first row to the last, unless it was asked for otherwise.
fn window(args: &HoursArgs, file: &SignalFile) -> Result<Window, Failure> {
    let asked = |name: &str, text: &Option<String>| {
        let at = text.as_deref().map(|text| in_zone(text, args.zone));
        at.transpose()
            .map_err(|why| Failure::usage(format!("--{name}: {why}")))
    };
    let times = || file.rows.iter().map(|(at, _)| *at);
    let (first, last) = (times().min(), times().max());
    let from = asked("from", &args.from)?.or(first).unwrap_or(Timestamp::MIN);
    let to = asked("to", &args.to)?.or(last).unwrap_or(Timestamp::MAX);
    let window = Window::new(from, to);
    if window.is_empty() {
        let why = if args.from.is_none() && args.to.is_none() {
            format!(
                "all rows are at {from}: a state lasts until the next row, so there is nothing to count; say with --to how long the last one lasted"
            )
        } else {
            format!("--from {from} is not before --to {to}")
        };
        return Err(Failure::usage(why));
    }
    Ok(window)
}

fn compute(
    file: SignalFile,
    window: Window,
    args: &HoursArgs,
    calendar: Option<&CalendarVersions>,
) -> LogHours {
    let normalised = normalise(&[], None, &file.rows);
    let marks = normalised
        .rows
        .into_iter()
        .map(|(at, state)| Mark::State { at, state })
        .collect();
    let whole_log = Source {
        seq: 1,
        recorded_at: window.to,
    };
    let marks = MachineMarks::from_entries([(whole_log, marks)]);
    let nobody = CalendarVersions::default();
    let calendar = calendar.unwrap_or(&nobody);
    let cut = Cut {
        calendar,
        zone: args.zone,
        by: args.choice.by(),
        rule: args.choice.day_rule(),
    };
    let rows = rows(&cut, window, window.to);
    let (staffed, attended) = (
        staffed(calendar, args.zone, window),
        attended(calendar, args.zone, window),
    );
    let machine = MachineInput {
        machine: MachineId(Uuid::nil()),
        marks: &marks,
        silent_after_s: None,
    };
    let cell = CellInput {
        staffed: &staffed,
        attended: &attended,
        plans: &Plans::default(),
        machines: &[machine],
    };
    LogHours {
        report: report(rows, &cell, window.to),
        window,
        rows: file.rows.len(),
        counts: normalised.counts,
        unused_columns: file.unused_columns,
    }
}

fn print(hours: &LogHours, args: &HoursArgs, known: Known, terminal: &mut Terminal) -> Result<(), Failure> {
    let lines: Vec<_> = hours
        .report
        .rows
        .iter()
        .map(|row| Line {
            row: &row.row,
            of: None,
            figures: &row.cell,
        })
        .collect();
    let out = &mut *terminal.out;
    writeln!(out, "Spindle hours from {}", args.file.display())?;
    writeln!(out, "{}", args.choice.sentence(args.zone))?;
    writeln!(out)?;
    write!(
        out,
        "{}",
        hours_table::write(&lines, &hours.report.total, args.zone, known)
    )?;
    writeln!(out)?;
    for line in hours_table::legend(&hours.report.total, known) {
        writeln!(out, "{line}")?;
    }
    writeln!(out, "{}", counted(hours))?;
    if !hours.unused_columns.is_empty() {
        writeln!(out, "columns left alone: {}", hours.unused_columns.join(", "))?;
    }
    Ok(())
}

/// What was odd about the rows; nothing is dropped without a word.
fn counted(hours: &LogHours) -> String {
    let counts = &hours.counts;
    let odd = [
        (counts.out_of_order, "out of order (sorted in)"),
        (counts.superseded, "replaced by a later row of the same instant"),
        (counts.unchanged, "repeating the state before them"),
    ];
    let odd = odd.iter().filter(|(rows, _)| *rows > 0);
    let odd: Vec<_> = odd
        .map(|(rows, what)| format!("{} {what}", count(*rows)))
        .collect();
    let told = if odd.is_empty() {
        "all in order, none repeated".to_owned()
    } else {
        odd.join(", ")
    };
    format!("{} rows read: {told}", count(hours.rows))
}
