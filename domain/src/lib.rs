//! Spindlebook's domain: what a job shop's book means, and nothing about how it is kept.
//!
//! Pure: no I/O, no async, no clock, no randomness. Time, ids and seeds come in as values. What always holds:
//! 1. An entry that was acknowledged is never lost; the ledger never changes.
//! 2. Seconds are conserved: each second of a machine has exactly one category.
//! 3. A command is accepted or refused against one consistent state; a refusal changes nothing.
//! 4. Folding the ledger from its first entry gives the state that the rules saw.

pub mod actor;
pub mod calendar;
pub mod code;
pub mod ids;
pub mod local_time;
pub mod note;
pub mod role;
pub mod size;
pub mod time;

pub mod access;
pub mod cell;
pub mod correction;
pub mod customer;
pub mod device;
pub mod fixture;
pub mod floor;
pub mod handover;
pub mod inspection;
pub mod job;
pub mod late;
pub mod load;
pub mod machine;
pub mod machine_state;
pub mod order;
pub mod pallet;
pub mod part;
pub mod plan;
pub mod pool;
pub mod run;
pub mod site;
pub mod vendor;

pub mod hours;
pub mod stretches;

pub mod command;
pub mod entry;
pub mod event;
#[cfg(test)]
mod event_samples;
pub mod refusal;
pub mod shared_map;
pub mod shop;
pub mod upcast;
