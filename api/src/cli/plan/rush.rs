use super::asked_line::LineArgs;
use super::from::open;
use super::searching::{SearchArgs, watched};
use super::words::WallClock;
use crate::cli::failure::Failure;
use crate::cli::hours_table::{Align, Table, hours_and_minutes};
use crate::cli::place::{PlaceArgs, close};
use crate::cli::terminal::Terminal;
use crate::http::rush_checks::dto::{RushCheckDto, RushOptionDto, RushPlaceName};
use clap::Args;
use spindlebook_domain::plan::rush::rush_check;

const HELP: &str = "\
The order is not entered; nothing is changed. What is in a spindle is never broken off.

Example:
  spindlebook plan rush --part 4711 --quantity 12 --due 2026-11-20 --priority rush

Exit codes: 0 done; 1 refused; 2 wrong usage.";

#[derive(Args, Debug)]
#[command(after_help = HELP)]
pub struct RushArgs {
    /// Print JSON, as POST /v1/rush-checks gives it
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    line: LineArgs,
    #[command(flatten)]
    search: SearchArgs,
    #[command(flatten)]
    place: PlaceArgs,
}

pub async fn run(args: &RushArgs, terminal: &mut Terminal<'_>) -> Result<(), Failure> {
    let opened = open(&args.place).await?;
    let clock = WallClock(opened.ground.site.zone);
    let line = args.line.line(&opened.ground.shop)?;
    let (ground, search) = (opened.ground, args.search.search());
    let dto = watched(terminal, move |watch| {
        let checked = search.run_twice(watch, |efforts| {
            let lines = std::slice::from_ref(&line);
            rush_check(
                &ground.shop,
                &ground.site,
                lines,
                &ground.options,
                ground.now,
                efforts,
            )
        });
        checked.map(|checked| RushCheckDto::of(&ground, &checked))
    })
    .await?;
    close(&opened.book).await;
    if args.json {
        return terminal.json(&dto);
    }
    for option in &dto.places {
        print(option, clock, terminal)?;
    }
    Ok(())
}

fn print(option: &RushOptionDto, clock: WallClock, terminal: &mut Terminal<'_>) -> Result<(), Failure> {
    let out = &mut *terminal.out;
    let place = match option.place {
        RushPlaceName::First => "Before everything else",
        RushPlaceName::Best => "Where all lines together are least late",
        RushPlaceName::Last => "After everything else",
    };
    let there = clock.at_or(option.complete, "not by this schedule");
    let late = if option.late_s > 0 {
        format!(", {} h late", hours_and_minutes(option.late_s))
    } else {
        String::new()
    };
    writeln!(out, "{place}: there {there}{late}")?;
    let mut table = Table::new(["line", "before", "after"].map(|head| (head, "", Align::Left)));
    table.column("late before", "h", Align::Right);
    table.column("late after", "h", Align::Right);
    let hours = |seconds: i64| {
        if seconds > 0 {
            hours_and_minutes(seconds)
        } else {
            String::new()
        }
    };
    for line in &option.lines {
        table.row(vec![
            format!("{}/{}", line.order_code, line.line),
            clock.at_or(line.before, "not planned"),
            clock.at_or(line.after, "not planned"),
            hours(line.late_before_s),
            hours(line.late_after_s),
        ]);
    }
    writeln!(out, "{table}")?;
    Ok(())
}
