//! `spindlebook report hours`: the hours of a cell, as `GET /v1/hours` gives them.

use super::cell_hours::{self, CellHours, Question};
use super::failure::Failure;
use super::hours_table::{self, Known, Line};
use super::hours_view::{self, CellView};
use super::instant::in_zone;
use super::place::PlaceArgs;
use super::row_choice::RowChoice;
use super::terminal::Terminal;
use chrono_tz::Tz;
use clap::{Args, Subcommand};
use spindlebook_domain::cell::Cell;
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
    #[arg(long, help = "The first instant")]
    from: String,
    #[arg(long, help = "The instant after the last")]
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
    let current = book
        .current(site)
        .ok_or_else(|| Failure::refused("the site was closed"))?;
    let cell = cell(&current.shop, &args.cell)?;
    let zone = current.shop.site.as_ref().map_or(Tz::UTC, |site| site.zone);
    let window = window(args, zone)?;
    let asked = Question {
        cell,
        window,
        choice: args.choice,
    };
    let hours = cell_hours::answer(&book, site, &current, &asked).await?;
    if args.json {
        return terminal.json(&CellView::new(&hours, cell, args.choice, window));
    }
    if args.csv {
        return hours_view::write_csv(&hours, cell, terminal.out);
    }
    print(&hours, &asked, args.machines, terminal)
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
    hours: &CellHours,
    asked: &Question,
    machines: bool,
    terminal: &mut Terminal,
) -> Result<(), Failure> {
    let mut lines = Vec::new();
    for row in &hours.report.rows {
        lines.push(Line {
            row: &row.row,
            of: machines.then_some("cell"),
            figures: &row.cell,
        });
        let of_machines = row.machines.iter().zip(&hours.machines).filter(|_| machines);
        lines.extend(of_machines.map(|(figures, machine)| Line {
            row: &row.row,
            of: Some(machine.code.as_str()),
            figures: &figures.figures,
        }));
    }
    let total = &hours.report.total;
    let out = &mut *terminal.out;
    writeln!(
        out,
        "Spindle hours of cell {} ({})",
        asked.cell.code, asked.cell.name
    )?;
    writeln!(out, "{}", asked.choice.sentence(hours.zone))?;
    writeln!(out)?;
    write!(out, "{}", hours_table::write(&lines, total, hours.zone, KNOWN))?;
    writeln!(out)?;
    for line in hours_table::legend(total, KNOWN) {
        writeln!(out, "{line}")?;
    }
    if hours.machines.len() > 1 {
        writeln!(
            out,
            "{} machines: a row of 8 hours has {} spindle hours",
            hours.machines.len(),
            8 * hours.machines.len()
        )?;
    }
    writeln!(
        out,
        "from the ledger up to entry {}, as of {}",
        hours.seq, hours.as_of
    )?;
    Ok(())
}
