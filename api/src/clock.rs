//! The one place where the time is read.

use chrono::Utc;
use spindlebook_domain::time::Timestamp;
use std::sync::atomic::{AtomicI64, Ordering};

pub trait Clock: Send + Sync + 'static {
    fn now(&self) -> Timestamp;
}

pub struct SystemClock;

impl Clock for SystemClock {
    fn now(&self) -> Timestamp {
        Timestamp::from_utc(Utc::now())
    }
}

/// Stands still until it is set: for tests, and for the demo's invented weeks.
pub struct SetClock(AtomicI64);

impl SetClock {
    pub const fn at(now: Timestamp) -> Self {
        Self(AtomicI64::new(now.us()))
    }

    pub fn set(&self, now: Timestamp) {
        self.0.store(now.us(), Ordering::SeqCst);
    }

    pub fn advance_s(&self, seconds: i64) {
        self.set(self.now().plus_s(seconds));
    }
}

impl Clock for SetClock {
    fn now(&self) -> Timestamp {
        Timestamp(self.0.load(Ordering::SeqCst))
    }
}
