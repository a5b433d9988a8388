//! Chance from a seed.

use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use sha2::{Digest, Sha256};
use spindlebook_domain::time::{Timestamp, US_PER_SECOND};
use uuid::{Builder, Uuid};

pub struct Dice(StdRng);

impl Dice {
    /// Each teller has dice of its own, so that a change in one story leaves the others as they are.
    pub fn new(seed: u64, teller: &str) -> Self {
        let digest = Sha256::new()
            .chain_update(seed.to_be_bytes())
            .chain_update(teller.as_bytes())
            .finalize();
        Self(StdRng::from_seed(digest.into()))
    }

    /// Both ends may come.
    pub fn between(&mut self, least: i64, most: i64) -> i64 {
        self.0.random_range(least..=most)
    }

    pub fn minutes(&mut self, least: i64, most: i64) -> i64 {
        self.between(least * 60, most * 60)
    }

    pub fn percent(&mut self, percent: u32) -> bool {
        self.0.random_ratio(percent, 100)
    }

    pub fn pick<T: Copy>(&mut self, of: &[T]) -> T {
        of[self.0.random_range(0..of.len())]
    }

    /// Machines report to the millisecond.
    pub fn soon_after(&mut self, at: Timestamp) -> Timestamp {
        at.plus_us(self.between(0, 999) * US_PER_SECOND / 1_000)
    }

    pub fn uuid(&mut self) -> Uuid {
        Builder::from_random_bytes(self.0.random()).into_uuid()
    }

    pub fn salt(&mut self) -> [u8; 16] {
        self.0.random()
    }
}
