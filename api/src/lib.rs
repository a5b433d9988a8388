//! Spindlebook's service: the road of a command from HTTP to the ledger, and of a question to its answer.

pub mod auth;
pub mod book;
pub mod clock;
pub mod http;
pub mod problem;
pub mod request_id;
