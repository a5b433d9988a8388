//! A search that somebody watches: its best so far is shown, and Ctrl-C ends it with that.

use crate::cli::failure::Failure;
use crate::cli::hours_table::{count, hours_and_minutes};
use crate::cli::terminal::Terminal;
use crate::planning::{Best, Search, Watch};
use clap::Args;
use spindlebook_domain::plan::check::Fault;
use std::sync::Arc;
use std::time::Duration;

const REDRAWN_EVERY: Duration = Duration::from_millis(200);

#[derive(Args, Clone, Copy, Debug)]
#[command(next_help_heading = "Search")]
pub struct SearchArgs {
    /// How long to search
    #[arg(long, value_name = "S", default_value_t = 5, value_parser = clap::value_parser!(u32).range(1..=600))]
    seconds: u32,
    /// Build so many schedules instead: the same number from the same seed gives the same plan
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..=10_000_000))]
    iterations: Option<u64>,
    /// Where the search's dice begin
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
}

impl SearchArgs {
    pub const fn search(&self) -> Search {
        Search {
            seconds: self.seconds,
            iterations: self.iterations,
            seed: self.seed,
        }
    }
}

/// On a thread of its own. Ctrl-C gives what has been found until then.
pub async fn watched<T: Send + 'static>(
    terminal: &mut Terminal<'_>,
    work: impl FnOnce(&Watch) -> Result<T, Vec<Fault>> + Send + 'static,
) -> Result<T, Failure> {
    let watch = Arc::new(Watch::default());
    let seen = Arc::clone(&watch);
    let mut work = tokio::task::spawn_blocking(move || work(&seen));
    let mut is_drawn = false;
    let done = loop {
        tokio::select! {
            done = &mut work => break done,
            interrupted = tokio::signal::ctrl_c(), if !watch.is_stopped() => {
                interrupted?;
                watch.stop();
            }
            () = tokio::time::sleep(REDRAWN_EVERY), if terminal.watched => {
                if let Some(best) = watch.best() {
                    write!(terminal.err, "\r{}\x1b[K", words(best))?;
                    terminal.err.flush()?;
                    is_drawn = true;
                }
            }
        }
    };
    if is_drawn {
        write!(terminal.err, "\r\x1b[K")?;
    }
    if watch.is_stopped() {
        terminal.say("spindlebook: ended early, with the best that was found")?;
    }
    let done = done.map_err(|error| Failure::refused(error.to_string()))?;
    done.map_err(|faults| {
        let first = faults.first().map(ToString::to_string).unwrap_or_default();
        Failure::refused(format!(
            "the plan breaks {} rules, the first: {first}",
            faults.len()
        ))
    })
}

fn words(best: Best) -> String {
    let schedules = usize::try_from(best.iterations).unwrap_or(usize::MAX);
    format!(
        "searching: {} schedules; best: {} h weighted lateness, {} h of spindle time not used   (Ctrl-C: take it)",
        count(schedules),
        hours_and_minutes(best.cost.first),
        hours_and_minutes(best.cost.second),
    )
}
