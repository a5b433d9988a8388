//! The command line.

mod failure;
mod hours;
mod hours_table;
mod hours_view;
mod instant;
mod row_choice;
mod shifts_file;
mod signal_file;
mod terminal;

use clap::{Parser, Subcommand};
use failure::Failure;
use std::ffi::OsString;
use std::io::{self, BufWriter, IsTerminal};
use std::process::ExitCode;
pub use terminal::Terminal;

/// Spindle hours of a job shop: planned and realised, from the machines' own signals, in a ledger that never changes.
#[derive(Parser, Debug)]
#[command(
    name = "spindlebook",
    version,
    after_help = "\
Exit codes: 0 done; 1 refused, or a check did not hold (a sentence on standard error says which); 2 wrong usage."
)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand, Debug)]
enum Command {
    /// Compute the hours of one machine straight from its log, without a database
    Hours(hours::HoursArgs),
}

pub fn run() -> ExitCode {
    let (stdout, stderr) = (io::stdout(), io::stderr());
    let watched = stderr.is_terminal();
    let mut terminal = Terminal {
        out: &mut BufWriter::new(stdout.lock()),
        err: &mut stderr.lock(),
        watched,
    };
    ExitCode::from(run_with(std::env::args_os(), &mut terminal))
}

/// The exit code. The first argument is the name of the program.
pub fn run_with(arguments: impl IntoIterator<Item = OsString>, terminal: &mut Terminal) -> u8 {
    let cli = match Cli::try_parse_from(arguments) {
        Ok(cli) => cli,
        Err(error) => return refuse_arguments(&error, terminal),
    };
    let done = dispatch(&cli.command, terminal).and_then(|()| Ok(terminal.out.flush()?));
    match done {
        Ok(()) => 0,
        Err(failure) => {
            if !matches!(failure, Failure::NobodyReads) {
                // When nobody can be told, the exit code still says it.
                let _ = terminal.say(format!("spindlebook: {failure}"));
            }
            failure.exit_code()
        }
    }
}

fn dispatch(command: &Command, terminal: &mut Terminal) -> Result<(), Failure> {
    match command {
        Command::Hours(args) => hours::run(args, terminal),
    }
}

/// Help and version are what was asked for: they go to the output and are no failure.
fn refuse_arguments(error: &clap::Error, terminal: &mut Terminal) -> u8 {
    let stream = if error.use_stderr() {
        &mut *terminal.err
    } else {
        &mut *terminal.out
    };
    let _ = write!(stream, "{}", error.render());
    let _ = stream.flush();
    u8::try_from(error.exit_code()).unwrap_or(2)
}
