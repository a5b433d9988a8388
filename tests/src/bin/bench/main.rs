//! What `tests/bench/run` measures with: our side of the comparisons, a ledger of any size, and load from clients
//! that cost next to nothing. Each command prints its result as JSON.

mod fold;
mod hours;
mod ledger;
mod load;
mod shop;
mod workload;

use anyhow::Result;
use clap::{Parser, Subcommand};
use std::path::PathBuf;

#[derive(Parser)]
struct Arguments {
    #[command(subcommand)]
    what: What,
}

#[derive(Subcommand)]
enum What {
    /// Compute the hours of a year once for each line on standard input.
    Hours {
        states: PathBuf,
        figures: PathBuf,
        from_us: i64,
        to_us: i64,
    },
    /// Write a ledger of some years into an empty database, through the service's own writer.
    Ledger(ledger::Wanted),
    /// Write a shop with cells, pallets and open jobs into an empty database.
    Shop(shop::Wanted),
    /// Read a ledger and fold it, each timed for itself.
    Fold { url: String },
    /// Send requests to a running service from many connections.
    Load(load::Wanted),
}

fn main() -> Result<()> {
    let runtime = tokio::runtime::Runtime::new()?;
    match Arguments::parse().what {
        What::Hours {
            states,
            figures,
            from_us,
            to_us,
        } => hours::serve(&states, &figures, from_us, to_us),
        What::Ledger(wanted) => runtime.block_on(ledger::write(&wanted)),
        What::Shop(wanted) => runtime.block_on(shop::write(&wanted)),
        What::Fold { url } => runtime.block_on(fold::run(&url)),
        // One thread: the clients share the processors with the service.
        What::Load(wanted) => {
            let one = tokio::runtime::Builder::new_current_thread()
                .enable_all()
                .build()?;
            one.block_on(load::run(&wanted))
        }
    }
}
