//! Spindlebook's domain: what a job shop's book means, and nothing about how it is kept.
//!
//! Pure: no I/O, no async, no clock, no randomness. Time, ids and seeds come in as values.

pub mod ids;
pub mod time;

pub mod machine_state;
pub mod stretches;

pub mod hours;
