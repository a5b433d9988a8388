use super::asked_line::LineArgs;
use super::from::open;
use super::searching::{SearchArgs, watched};
use super::words::WallClock;
use crate::cli::failure::Failure;
use crate::cli::place::{PlaceArgs, close};
use crate::cli::terminal::Terminal;
use crate::hours::{Hours, HoursSource};
use crate::http::promises::dto::{PromiseDto, PromisedLineDto};
use clap::Args;
use spindlebook_domain::plan::promise::{Sampling, promise};
use std::sync::Arc;

const HELP: &str = "\
Behind everything that was promised before it: nobody else pays for it. Nothing is changed.

Example:
  spindlebook plan promise --part 4711 --quantity 24

Exit codes: 0 done; 1 refused; 2 wrong usage.";

#[derive(Args, Debug)]
#[command(after_help = HELP)]
pub struct PromiseArgs {
    /// How often past runs are drawn from
    #[arg(long, value_name = "N", default_value_t = 200, value_parser = clap::value_parser!(u32).range(1..=10_000))]
    samples: u32,
    /// Print JSON, as POST /v1/promises gives it
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    line: LineArgs,
    #[command(flatten)]
    search: SearchArgs,
    #[command(flatten)]
    place: PlaceArgs,
}

pub async fn run(args: &PromiseArgs, terminal: &mut Terminal<'_>) -> Result<(), Failure> {
    let opened = open(&args.place).await?;
    let (book, site) = (&opened.book, opened.site);
    let source = HoursSource {
        site,
        shop: Arc::clone(&opened.ground.shop),
        as_of: opened.ground.now,
        rebuilds: book.rebuilds(site),
    };
    let spread = Hours::new(book.store().clone()).spread(&source).await?;
    let clock = WallClock(opened.ground.site.zone);
    let line = args.line.line(&opened.ground.shop)?;
    let (ground, search) = (opened.ground, args.search.search());
    let sampling = Sampling {
        samples: usize::try_from(args.samples).unwrap_or(usize::MAX),
        seed: search.seed,
    };
    let dto = watched(terminal, move |watch| {
        let (shop, options) = (&ground.shop, &ground.options);
        let promised = search.run(watch, |effort| {
            promise(
                shop,
                &ground.site,
                &line,
                &spread,
                options,
                ground.now,
                (effort, sampling),
            )
        })?;
        let lines = vec![PromisedLineDto::of(line.pieces, &promised)];
        Ok(PromiseDto::of(&ground, &spread, sampling.samples, lines))
    })
    .await?;
    close(&opened.book).await;
    if args.json {
        return terminal.json(&dto);
    }
    print(&dto, clock, terminal)
}

fn print(dto: &PromiseDto, clock: WallClock, terminal: &mut Terminal<'_>) -> Result<(), Failure> {
    const NEVER: &str = "not within a year";
    let out = &mut *terminal.out;
    let by = match dto.own_speed_per_mille {
        Some(per_mille) => format!(
            "{} past runs took {}.{} % of what was planned",
            dto.past_runs,
            per_mille / 10,
            per_mille % 10
        ),
        None => "no past runs: runs are taken to last what is planned".to_owned(),
    };
    writeln!(
        out,
        "at planned speed     {}",
        clock.at_or(dto.at_planned_speed, NEVER)
    )?;
    writeln!(
        out,
        "at the shop's speed  {}   ({by})",
        clock.at_or(dto.at_own_speed, NEVER)
    )?;
    writeln!(out, "one in two by        {}", clock.at_or(dto.p50, NEVER))?;
    writeln!(out, "nine in ten by       {}", clock.at_or(dto.p90, NEVER))?;
    if let Some(reason) = dto.lines.first().and_then(|line| line.limited_by.as_ref()) {
        writeln!(out, "waits for            {}", reason.text)?;
    }
    Ok(())
}
