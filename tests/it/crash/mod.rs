//! The service and its database die at any moment; nothing that was acknowledged is lost. Everything here runs with
//! fsync, on processes and a PostgreSQL of its own. `tests/soak` runs the same tests with larger counts.

mod fsync;
mod kill_service;
mod lose_postgres;
mod workshop;

use std::time::Duration;

/// How often each test does its worst, unless `CRASH_ROUNDS` says otherwise.
fn rounds(ordinary: usize) -> usize {
    std::env::var("CRASH_ROUNDS")
        .ok()
        .and_then(|count| count.parse().ok())
        .unwrap_or(ordinary)
}

/// Some moment within the next so many milliseconds.
fn any_moment(most_ms: u64) -> Duration {
    Duration::from_millis(rand::random_range(0..most_ms))
}
