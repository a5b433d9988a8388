//! The command line.

mod backup;
mod client;
mod demo;
mod export_ledger;
mod failure;
mod hours;
mod hours_table;
mod hours_view;
mod import_opening;
mod import_signals;
mod instant;
mod ledger_file;
mod log_file;
mod new_file;
mod openapi;
mod place;
mod plan;
mod pool_table;
mod rebuild;
mod report_hours;
mod row_choice;
mod serve;
mod serving;
mod shifts_file;
mod signal_file;
mod site;
mod submit;
mod terminal;
#[cfg(test)]
mod tests;
mod user;
mod verify;

pub use terminal::Terminal;

use clap::{Parser, Subcommand};
use failure::Failure;
use std::ffi::OsString;
use std::io::{self, BufWriter, IsTerminal};
use std::process::ExitCode;

/// Spindle hours of a job shop: planned and realised, from the machines' own signals, in a ledger that never changes.
#[derive(Parser, Debug)]
#[command(
    name = "spindlebook",
    bin_name = "spindlebook",
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
    /// Serve the API until it is stopped
    Serve(Box<serve::ServeArgs>),
    /// Invent a shop with weeks of history, print its hours and serve it
    Demo(demo::DemoArgs),
    /// Compute the hours of one machine straight from its log, without a database
    Hours(hours::HoursArgs),
    /// Plans, and how good the search for them is
    Plan(plan::PlanArgs),
    /// Print a report from the ledger
    Report(report_hours::ReportArgs),
    /// Bring data into the ledger
    Import(import_signals::ImportArgs),
    /// Write the ledger out
    Export(export_ledger::ExportArgs),
    /// Begin a site, or list them
    Site(site::SiteArgs),
    /// Add people who may sign in, and change what they may do
    User(user::UserArgs),
    /// Add machine clients
    Client(client::ClientArgs),
    /// Check that the ledger holds together and that all rows follow from it
    Verify(verify::VerifyArgs),
    /// Write the read tables anew from the ledger
    Rebuild(rebuild::RebuildArgs),
    /// Copy the database as of one moment, while the service runs
    Backup(backup::BackupArgs),
    /// Print the API's OpenAPI document
    #[command(after_help = openapi::HELP)]
    Openapi,
}

pub fn run() -> ExitCode {
    let mut stderr = io::stderr();
    let mut terminal = Terminal {
        watched: stderr.is_terminal(),
        out: &mut BufWriter::new(io::stdout()),
        err: &mut stderr,
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
            let _ = terminal.out.flush();
            if !matches!(failure, Failure::NobodyReads) {
                // When nobody can be told, the exit code still says it.
                let _ = terminal.say(format!("spindlebook: {failure}"));
            }
            failure.exit_code()
        }
    }
}

fn dispatch(command: &Command, terminal: &mut Terminal) -> Result<(), Failure> {
    if let Command::Hours(args) = command {
        return hours::run(args, terminal);
    }
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build()?;
    runtime.block_on(async {
        match command {
            Command::Hours(args) => hours::run(args, terminal),
            Command::Plan(args) => plan::run(args, terminal).await,
            Command::Openapi => openapi::run(terminal),
            Command::Serve(args) => serve::run(args, terminal).await,
            Command::Demo(args) => demo::run(args, terminal).await,
            Command::Report(args) => report_hours::run(args, terminal).await,
            Command::Import(args) => import_signals::run(args, terminal).await,
            Command::Export(args) => export_ledger::run(args, terminal).await,
            Command::Site(args) => site::run(args, terminal).await,
            Command::User(args) => user::run(args, terminal).await,
            Command::Client(args) => client::run(args, terminal).await,
            Command::Verify(args) => verify::run(args, terminal).await,
            Command::Rebuild(args) => rebuild::run(args, terminal).await,
            Command::Backup(args) => backup::run(args, terminal).await,
        }
    })
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
