use super::from::open;
use super::searching::{SearchArgs, watched};
use super::words::{self, WallClock};
use crate::cli::failure::Failure;
use crate::cli::hours_table::hours_and_minutes;
use crate::cli::place::{PlaceArgs, close};
use crate::cli::report_hours::cell;
use crate::cli::terminal::Terminal;
use crate::http::cells::night_dto::NightFillDto;
use clap::Args;
use spindlebook_domain::plan::night::night_fill;

const HELP: &str = "\
Only what is cleared for it runs with nobody there. Before leaving: coolant level and flow, chips cleared and conveyor
running, tool life, door shut, detection and extinguishing ready, someone on call. The list is not a permission.

Example:
  spindlebook plan night --cell POOL1 --seconds 2

Exit codes: 0 done; 1 refused; 2 wrong usage.";

#[derive(Args, Debug)]
#[command(after_help = HELP)]
pub struct NightArgs {
    /// The cell's code
    #[arg(long, value_name = "CODE")]
    cell: String,
    /// Print JSON, as GET /v1/cells/{id}/night-fill gives it
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    search: SearchArgs,
    #[command(flatten)]
    place: PlaceArgs,
}

pub async fn run(args: &NightArgs, terminal: &mut Terminal<'_>) -> Result<(), Failure> {
    let opened = open(&args.place).await?;
    let clock = WallClock(opened.ground.site.zone);
    let cell = cell(&opened.ground.shop, &args.cell)?.clone();
    let (ground, search) = (opened.ground, args.search.search());
    let dto = watched(terminal, move |watch| {
        let fill = search.run(watch, |effort| {
            night_fill(
                &ground.shop,
                &ground.site,
                &cell,
                &ground.options,
                ground.now,
                effort,
            )
        });
        Ok(NightFillDto::of(&ground, &cell, fill.transpose()?.as_ref()))
    })
    .await?;
    close(&opened.book).await;
    if args.json {
        return terminal.json(&dto);
    }
    print(&dto, clock, terminal)
}

fn print(dto: &NightFillDto, clock: WallClock, terminal: &mut Terminal<'_>) -> Result<(), Failure> {
    let out = &mut *terminal.out;
    let Some(night) = &dto.night else {
        writeln!(
            out,
            "Within two weeks there is always somebody there, or nobody has told of a calendar."
        )?;
        return Ok(());
    };
    writeln!(
        out,
        "Nobody is there from {} to {}.",
        clock.at(night.from),
        clock.at(night.to)
    )?;
    match dto.cuts_until {
        Some(until) => writeln!(
            out,
            "Cut until {}: {} spindle hours.\n",
            clock.at(until),
            hours_and_minutes(dto.spindle_s)
        )?,
        None => writeln!(out, "Nothing is cut.\n")?,
    }
    if !dto.to_clamp.is_empty() {
        writeln!(
            out,
            "To clamp before, in this order\n{}",
            words::loads(&dto.to_clamp, clock)
        )?;
    }
    if !dto.cut.is_empty() {
        writeln!(out, "Cut in the night\n{}", words::loads(&dto.cut, clock))?;
    }
    if !dto.not_cut.is_empty() {
        writeln!(out, "Not in the night\n{}", words::left_out(&dto.not_cut))?;
    }
    writeln!(
        out,
        "It advises; whoever leaves goes through the checklist of each clearance first."
    )?;
    Ok(())
}
