//! How long is searched, and what is told meanwhile.

use spindlebook_domain::plan::build::Cost;
use spindlebook_domain::plan::schedule::Effort;
use spindlebook_domain::plan::search::{Allowance, Progress, Settings};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

/// Whoever needs longer plans less.
pub const SECONDS_MAX: u32 = 600;
pub const ITERATIONS_MAX: u64 = 10_000_000;

/// So many seconds, or so many schedules: only the second is repeatable.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Search {
    pub seconds: u32,
    pub iterations: Option<u64>,
    pub seed: u64,
}

/// What a search tells, and is told, while it goes on.
#[derive(Debug, Default)]
pub struct Watch {
    stop: AtomicBool,
    best: Mutex<Option<Best>>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Best {
    pub cost: Cost,
    pub iterations: u64,
}

impl Watch {
    /// The search ends with the best that it has.
    pub fn stop(&self) {
        self.stop.store(true, Ordering::Relaxed);
    }

    pub fn is_stopped(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }

    pub fn best(&self) -> Option<Best> {
        *self.best.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// To be handed to a search.
    pub fn note(&self, progress: &Progress<'_, Cost>) {
        let best = Best {
            cost: *progress.best,
            iterations: progress.iterations,
        };
        *self.best.lock().unwrap_or_else(PoisonError::into_inner) = Some(best);
    }
}

impl Search {
    /// One search, from now on.
    pub fn run<T>(&self, watch: &Watch, search: impl FnOnce(Effort<'_>) -> T) -> T {
        let spent = self.spent(watch, Instant::now(), self.budget());
        search(self.effort(&spent))
    }

    /// Two searches, one after the other; each has half of the time.
    pub fn run_twice<T>(&self, watch: &Watch, search: impl FnOnce([Effort<'_>; 2]) -> T) -> T {
        let half = self.budget() / 2;
        let now = Instant::now();
        let (first, second) = (self.spent(watch, now, half), self.spent(watch, now + half, half));
        search([self.effort(&first), self.effort(&second)])
    }

    fn budget(&self) -> Duration {
        Duration::from_secs(u64::from(self.seconds))
    }

    fn spent<'a>(&self, watch: &'a Watch, from: Instant, budget: Duration) -> impl Fn() -> f64 + Sync + 'a {
        let is_counted = self.iterations.is_some();
        move || match (watch.is_stopped(), is_counted) {
            (true, _) => 1.0,
            (false, true) => 0.0,
            (false, false) => from.elapsed().as_secs_f64() / budget.as_secs_f64().max(1e-3),
        }
    }

    fn effort<'a>(&self, spent: &'a (dyn Fn() -> f64 + Sync)) -> Effort<'a> {
        Effort {
            settings: Settings {
                seed: self.seed,
                ..Settings::default()
            },
            allowance: Allowance {
                iterations: self.iterations.unwrap_or(u64::MAX),
                spent,
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SEARCH: Search = Search {
        seconds: 600,
        iterations: None,
        seed: 7,
    };

    #[test]
    fn a_search_that_is_told_to_stop_has_spent_all() {
        let watch = Watch::default();
        SEARCH.run(&watch, |effort| {
            assert!((effort.allowance.spent)() < 0.5);
            watch.stop();
            assert!((effort.allowance.spent)() >= 1.0);
        });
    }

    #[test]
    fn of_schedules_that_are_counted_no_clock_is_looked_at() {
        let counted = Search {
            seconds: 0,
            iterations: Some(500),
            ..SEARCH
        };
        counted.run(&Watch::default(), |effort| {
            assert_eq!(effort.allowance.iterations, 500);
            assert!((effort.allowance.spent)() < f64::EPSILON);
        });
    }

    #[test]
    fn the_second_of_two_searches_has_its_half_left() {
        SEARCH.run_twice(&Watch::default(), |[first, second]| {
            assert!((first.allowance.spent)() < 0.5);
            assert!((second.allowance.spent)() < f64::EPSILON);
        });
    }
}
