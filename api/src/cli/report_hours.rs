//! `spindlebook report hours`: the hours of a cell, as `GET /v1/hours` gives them.

use super::failure::Failure;
use super::hours_table::{self, Known, Line};
use super::instant::in_zone;
use super::place::PlaceArgs;
use super::row_choice::RowChoice;
use super::terminal::Terminal;
use crate::hours::{Hours, HoursRequest, HoursSource};
use crate::http::hours::csv;
use crate::http::hours::dto::HoursDto;
use chrono_tz::Tz;
use clap::{Args, Subcommand};
use spindlebook_domain::cell::Cell;
use spindlebook_domain::hours::HoursReport;
use spindlebook_domain::shop::Shop;
use spindlebook_domain::time::Window;

const HELP: &str = "\
--from and --to take an instant (2026-10-24T06:00:00Z), a local time of the site (2026-10-24T06:00) or a date, which
means its first instant: --from 2026-10-19 --to 2026-10-26 is one week.

Example:
  spindlebook report hours --cell POOL1 --from 2026-10-19 --to 2026-10-26 --by shift

Exit codes: 0 done; 1 refused; 2 wrong usage.";

#[derive(Args, Debug)]
pub struct ReportArgs {
    #[command(subcommand)]
    command: ReportCommand,
}

#[derive(Subcommand, Debug)]
enum ReportCommand {
    /// Planned and realised spindle hours of a cell, and where the rest went
    #[command(after_help = HELP)]
    Hours(ReportHoursArgs),
}

#[derive(Args, Debug)]
struct ReportHoursArgs {
    /// The cell's code
    #[arg(long, value_name = "CODE")]
    cell: String,
    /// The first instant
    #[arg(long)]
    from: String,
    /// The instant after the last
    #[arg(long)]
    to: String,
    #[command(flatten)]
    choice: RowChoice,
    /// Also a line for each machine
    #[arg(long)]
    machines: bool,
    /// Print CSV, in seconds
    #[arg(long, conflicts_with = "json")]
    csv: bool,
    /// Print JSON, in seconds
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    place: PlaceArgs,
}

pub async fn run(args: &ReportArgs, terminal: &mut Terminal<'_>) -> Result<(), Failure> {
    let ReportCommand::Hours(args) = &args.command;
    let chosen = args.place.choose()?;
    let (book, site) = chosen.book_and_site().await?;
    let source = HoursSource {
        site,
        shop: book.shop(site).unwrap_or_default(),
        as_of: book.now(),
        rebuilds: book.rebuilds(site),
    };
    let cell = cell(&source.shop, &args.cell)?;
    let zone = source.shop.site.as_ref().map_or(Tz::UTC, |site| site.zone);
    let window = window(args, zone)?;
    let asked = HoursRequest {
        cell: cell.id,
        machine: None,
        window,
        by: args.choice.by(),
        rule: args.choice.day_rule(),
    };
    let report = Hours::new(book.store().clone()).report(&source, &asked).await?;
    let dto = || {
        HoursDto::new(
            &source.shop,
            cell,
            zone,
            (asked.by, asked.rule),
            window,
            source.as_of,
            &report,
        )
    };
    if args.json {
        return terminal.json(&dto());
    }
    if args.csv {
        let table = csv::table(&dto()).map_err(|problem| Failure::refused(problem.to_string()))?;
        return Ok(terminal.out.write_all(&table)?);
    }
    print(&report, &source, cell, zone, args, terminal)
}

pub fn cell<'a>(shop: &'a Shop, code: &str) -> Result<&'a Cell, Failure> {
    shop.cell_by_code(code).ok_or_else(|| {
        let mut codes: Vec<_> = shop.cells.values().map(|cell| cell.code.as_str()).collect();
        codes.sort_unstable();
        let known = if codes.is_empty() {
            "none yet".to_owned()
        } else {
            codes.join(", ")
        };
        Failure::refused(format!(
            "there is no cell `{code}` at this site; there are: {known}"
        ))
    })
}

fn window(args: &ReportHoursArgs, zone: Tz) -> Result<Window, Failure> {
    let read =
        |name, text: &str| in_zone(text, zone).map_err(|why| Failure::usage(format!("--{name}: {why}")));
    let window = Window::new(read("from", &args.from)?, read("to", &args.to)?);
    if window.is_empty() {
        return Err(Failure::usage(format!(
            "--from {} is not before --to {}",
            args.from, args.to
        )));
    }
    Ok(window)
}

const KNOWN: Known = Known {
    calendar: true,
    plans: true,
};

fn print(
    report: &HoursReport,
    source: &HoursSource,
    cell: &Cell,
    zone: Tz,
    args: &ReportHoursArgs,
    terminal: &mut Terminal,
) -> Result<(), Failure> {
    let machines = source.shop.machines_of(cell.id);
    let mut lines = Vec::new();
    for row in &report.rows {
        lines.push(Line {
            row: &row.row,
            of: args.machines.then_some("cell"),
            figures: &row.cell,
        });
        let of_machines = row.machines.iter().zip(&machines).filter(|_| args.machines);
        lines.extend(of_machines.map(|(figures, machine)| Line {
            row: &row.row,
            of: Some(machine.code.as_str()),
            figures: &figures.figures,
        }));
    }
    let out = &mut *terminal.out;
    writeln!(out, "Spindle hours of cell {} ({})", cell.code, cell.name)?;
    writeln!(out, "{}", args.choice.sentence(zone))?;
    writeln!(out)?;
    write!(out, "{}", hours_table::write(&lines, &report.total, zone, KNOWN))?;
    writeln!(out)?;
    for line in hours_table::legend(&report.total, KNOWN) {
        writeln!(out, "{line}")?;
    }
    if machines.len() > 1 {
        let many = machines.len();
        writeln!(
            out,
            "{many} machines: an hour of the clock is {many} hours of window and of staffed time"
        )?;
    }
    writeln!(
        out,
        "from the ledger up to entry {}, as of {}",
        source.shop.seq, source.as_of
    )?;
    Ok(())
}
