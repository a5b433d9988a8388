//! `spindlebook plan`.

mod asked_line;
mod bench;
mod from;
mod make;
mod night;
mod promise;
mod rush;
mod searching;
mod words;

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
    /// Plan every cell from the shop as it stands: which load goes on which pallet, when, and why not sooner
    Make(Box<make::MakeArgs>),
    /// What to clamp before the last person leaves, so that the spindles cut longest until somebody is back
    Night(Box<night::NightArgs>),
    /// What one more order would do to every line that was promised
    Rush(Box<rush::RushArgs>),
    /// When an order could be there that nobody has entered
    Promise(Box<promise::PromiseArgs>),
    /// Solve published scheduling problems with the search that makes plans
    Bench(bench::BenchArgs),
}

pub async fn run(args: &PlanArgs, terminal: &mut Terminal<'_>) -> Result<(), Failure> {
    match &args.command {
        PlanCommand::Make(args) => make::run(args, terminal).await,
        PlanCommand::Night(args) => night::run(args, terminal).await,
        PlanCommand::Rush(args) => rush::run(args, terminal).await,
        PlanCommand::Promise(args) => promise::run(args, terminal).await,
        PlanCommand::Bench(args) => bench::run(args, terminal),
    }
}
