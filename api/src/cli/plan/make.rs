use super::from::open;
use super::searching::{SearchArgs, watched};
use super::words::{self, WallClock};
use crate::cli::failure::Failure;
use crate::cli::hours_table::hours_and_minutes;
use crate::cli::place::{PlaceArgs, close};
use crate::cli::submit::submit;
use crate::cli::terminal::Terminal;
use crate::http::plans::schedule_dto::ScheduleDto;
use crate::planning::{Publishable, Told};
use clap::Args;
use spindlebook_domain::ids::PlanId;
use spindlebook_domain::plan::schedule::compute_with;
use uuid::Uuid;

const HELP: &str = "\
Weighted lateness first, then spindle hours, then few fixture changes, then closeness to the plan in force. Nothing is
changed unless --publish is given.

Example:
  spindlebook plan make --seconds 10
  spindlebook plan make --iterations 20000 --seed 7 --json

Exit codes: 0 done; 1 refused; 2 wrong usage.";

#[derive(Args, Debug)]
#[command(after_help = HELP)]
pub struct MakeArgs {
    /// Count spindle hours so many days ahead
    #[arg(long, value_name = "N", default_value_t = 7, value_parser = clap::value_parser!(u32).range(1..=31))]
    days: u32,
    /// Put it into the ledger: the shop works to it, and the queues follow it
    #[arg(long)]
    publish: bool,
    /// Print JSON, as GET /v1/plans/{id} gives it in `schedule`
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    search: SearchArgs,
    #[command(flatten)]
    place: PlaceArgs,
}

pub async fn run(args: &MakeArgs, terminal: &mut Terminal<'_>) -> Result<(), Failure> {
    let mut opened = open(&args.place).await?;
    opened.ground.options.horizon_s = i64::from(args.days) * 86_400;
    let clock = WallClock(opened.ground.site.zone);
    let (ground, search) = (opened.ground, args.search.search());
    let (dto, publishable) = watched(terminal, move |watch| {
        let schedule = search.run(watch, |effort| {
            let mut note =
                |progress: spindlebook_domain::plan::search::Progress<'_, _>| watch.note(&progress);
            compute_with(
                &ground.shop,
                &ground.site,
                &ground.options,
                ground.now,
                effort,
                &mut note,
            )
        })?;
        let told = Told {
            ground: &ground,
            schedule: &schedule,
            best: watch.best(),
        };
        Ok((ScheduleDto::of(&told), Publishable::of(&schedule)))
    })
    .await?;
    if args.json {
        terminal.json(&dto)?;
    } else {
        print(&dto, clock, terminal)?;
    }
    if args.publish {
        let plan = PlanId(Uuid::now_v7());
        submit(&opened.book, opened.site, publishable.into_command(plan), None).await?;
        terminal.say(format!("spindlebook: plan {plan} is published"))?;
    }
    close(&opened.book).await;
    Ok(())
}

fn print(dto: &ScheduleDto, clock: WallClock, terminal: &mut Terminal<'_>) -> Result<(), Failure> {
    let out = &mut *terminal.out;
    writeln!(
        out,
        "Plan from {} to {}\n",
        clock.at(dto.from),
        clock.at(dto.until)
    )?;
    for cell in &dto.cells {
        let hours = hours_and_minutes(cell.spindle_s_planned);
        writeln!(out, "{}: {hours} spindle hours planned", cell.cell_code)?;
        if cell.loads.is_empty() {
            writeln!(out, "nothing to cut\n")?;
        } else {
            writeln!(out, "{}", words::loads(&cell.loads, clock))?;
        }
    }
    if !dto.lines.is_empty() {
        writeln!(out, "Lines\n{}", words::lines(&dto.lines, clock))?;
    }
    if !dto.left_out.is_empty() {
        writeln!(out, "Not planned\n{}", words::left_out(&dto.left_out))?;
    }
    writeln!(
        out,
        "It records and advises; whoever clamps and starts looks first, by the machine builder's manual and the shop's rules."
    )?;
    Ok(())
}
