//! Throw-away PostgreSQL for tests. Where it comes from, in this order:
//! 1. `TEST_DATABASE_URL`: an administrator's URL; the tests make and drop databases beside the one it names;
//! 2. a container, if an engine answers on its socket;
//! 3. local binaries, run as an unprivileged user where we are root.
//!
//! Ordinary tests share one cluster without fsync; crash tests have a [`DurableCluster`] each.

mod account;
mod binaries;
mod container;
mod database;
mod durable;
mod folder;
mod shared;

pub use database::TestDatabase;
pub use durable::DurableCluster;
