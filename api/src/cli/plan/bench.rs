//! `spindlebook plan bench`: published problems, whose answers are known, under the search that makes plans.

use crate::cli::failure::Failure;
use crate::cli::terminal::Terminal;
use clap::Args;
use flate2::read::GzDecoder;
use serde::Serialize;
use spindlebook_domain::plan::published::{Named, Published, Solved, forms, solve};
use spindlebook_domain::plan::search::{Allowance, Settings};
use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::thread::available_parallelism;
use std::time::Instant;

const HELP: &str = "\
The file is JSON, as it is or packed with gzip: `instances` of total weighted tardiness on one machine (`p`, `w`, `d`, with
`s` for setups between jobs), of job shops (`machines`, `durations`) or of flexible job shops (`jobs`), or the `loads` of one
pallet pool. One JSON line is printed for each problem; every schedule was judged by a separate evaluator before.

Example:
  spindlebook plan bench wt40.json.gz --seconds 1
  spindlebook plan bench jobshop.json.gz --seconds 10 --only ft10 --only la16

Exit codes: 0 done; 1 the file is not right, or a schedule did not hold; 2 wrong usage.";

/// So much is unpacked from a file and no more.
const TEXT_BYTES_MAX: u64 = 256 << 20;

#[derive(Args, Debug)]
#[command(after_help = HELP)]
pub struct BenchArgs {
    /// The problems (.json or .json.gz)
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// How long each problem is searched; it ends earlier where nothing can be better
    #[arg(long, value_name = "SECONDS", default_value = "1", value_parser = seconds)]
    seconds: f64,
    /// Only the problem of this name (several: repeat it)
    #[arg(long, value_name = "NAME")]
    only: Vec<String>,
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Processors to use; all of them where it is not said
    #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(u16).range(1..=1024))]
    workers: Option<u16>,
    /// Print when each load is touched, too (pallet pools)
    #[arg(long)]
    schedule: bool,
}

fn seconds(text: &str) -> Result<f64, String> {
    let seconds: f64 = text
        .parse()
        .map_err(|_| "a number of seconds, like 0.5 or 10, would be right")?;
    if seconds > 0.0 && seconds <= 86_400.0 {
        return Ok(seconds);
    }
    Err("more than 0 and at most 86400 would be right".to_owned())
}

/// One line of the output.
#[derive(Serialize)]
struct Line<'a> {
    name: &'a str,
    objective: i64,
    published: Option<i64>,
    lower_bound: i64,
    seconds: f64,
    schedules_built: u64,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    schedule: Vec<LoadLine>,
}

#[derive(Serialize)]
struct LoadLine {
    id: i64,
    setup_start: i64,
    cut_start: i64,
    unload_start: i64,
}

pub fn run(args: &BenchArgs, terminal: &mut Terminal) -> Result<(), Failure> {
    let text = read(&args.file)?;
    let name = args.file.file_name().unwrap_or_default().to_string_lossy();
    let name = name.trim_end_matches(".gz").trim_end_matches(".json");
    let refused = |error| Failure::refused(format!("{}: {error}", args.file.display()));
    let mut problems = forms::read(name, &text).map_err(refused)?;
    if let Some(unknown) = args
        .only
        .iter()
        .find(|only| problems.iter().all(|problem| problem.name != **only))
    {
        let known: Vec<&str> = problems
            .iter()
            .take(20)
            .map(|problem| problem.name.as_str())
            .collect();
        return Err(Failure::usage(format!(
            "--only {unknown}: no problem is called so; those in the file begin with {}",
            known.join(", ")
        )));
    }
    if !args.only.is_empty() {
        problems.retain(|problem| args.only.contains(&problem.name));
    }
    for problem in &problems {
        let (solved, seconds) = timed(args, problem)?;
        let schedule = if args.schedule {
            schedule(&problem.problem, &solved)
        } else {
            Vec::new()
        };
        let line = Line {
            name: &problem.name,
            objective: solved.objective,
            published: problem.published,
            lower_bound: solved.lower_bound,
            seconds: (seconds * 1_000.0).round() / 1_000.0,
            schedules_built: solved.iterations,
            schedule,
        };
        serde_json::to_writer(&mut *terminal.out, &line)?;
        writeln!(terminal.out)?;
        terminal.out.flush()?;
    }
    Ok(())
}

fn timed(args: &BenchArgs, problem: &Named) -> Result<(Solved, f64), Failure> {
    let workers = args.workers.map(usize::from);
    let workers = workers.unwrap_or_else(|| available_parallelism().map_or(1, usize::from));
    let settings = Settings {
        seed: args.seed,
        workers,
        chains: workers.max(2),
    };
    let began = Instant::now();
    let spent = || began.elapsed().as_secs_f64() / args.seconds;
    let allowance = Allowance {
        iterations: u64::MAX,
        spent: &spent,
    };
    let solved = solve(&problem.problem, &settings, &allowance, &mut |_| {})
        .map_err(|error| Failure::refused(format!("{}: {error}", problem.name)))?;
    Ok((solved, began.elapsed().as_secs_f64()))
}

fn schedule(problem: &Published, solved: &Solved) -> Vec<LoadLine> {
    let Published::Pool(pool) = problem else {
        return Vec::new();
    };
    let loads = pool.loads.iter().zip(&solved.loads);
    let lines = loads.map(|(load, times)| LoadLine {
        id: load.id,
        setup_start: times.setup_start,
        cut_start: times.cut_start,
        unload_start: times.unload_start,
    });
    lines.collect()
}

/// The file's text, unpacked where it begins as gzip does (RFC 1952).
fn read(file: &Path) -> Result<String, Failure> {
    let refused = |error: std::io::Error| Failure::refused(format!("{}: {error}", file.display()));
    let bytes = fs::read(file).map_err(refused)?;
    let mut text = String::new();
    let read = if bytes.starts_with(&[0x1f, 0x8b]) {
        GzDecoder::new(&bytes[..])
            .take(TEXT_BYTES_MAX)
            .read_to_string(&mut text)
    } else {
        (&bytes[..]).take(TEXT_BYTES_MAX).read_to_string(&mut text)
    };
    read.map_err(refused)?;
    Ok(text)
}
