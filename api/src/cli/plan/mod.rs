//! `spindlebook plan`.

mod bench;

use super::failure::Failure;
use super::terminal::Terminal;
use clap::{Args, Subcommand};

#[derive(Args, Debug)]
pub struct PlanArgs {
    #[command(subcommand)]
    command: PlanCommand,
}

#[derive(Subcommand, Debug)]
enum PlanCommand {
    /// Solve published scheduling problems with the search that makes plans
    Bench(bench::BenchArgs),
}

pub fn run(args: &PlanArgs, terminal: &mut Terminal) -> Result<(), Failure> {
    match &args.command {
        PlanCommand::Bench(args) => bench::run(args, terminal),
    }
}
