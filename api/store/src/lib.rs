//! The database: the only place that knows SQL. Plain structs go in and out; no type of a database library does.
//!
//! One SQL text serves SQLite and PostgreSQL wherever their dialects allow; what differs (locks, bulk inserts,
//! looking up many keys at once) is in `connection` and `bulk`. Everything the writer does to a site happens in one
//! [`Transaction`] that begins with [`site::lock`].

mod backup;
mod bulk;
mod connection;
mod database_file;
mod error;
mod open;
mod record;

pub mod account;
pub mod computation;
pub mod daily_report;
pub mod entry;
pub mod outcome;
pub mod pin;
pub mod private;
pub mod read;
pub mod session;
pub mod site;
pub mod snapshot;

pub use bulk::Writes;
pub use connection::{Session, Store, Transaction};
pub use error::StoreError;
pub use record::Record;
