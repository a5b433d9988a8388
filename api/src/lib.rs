//! Spindlebook's service: the road of a command from HTTP to the ledger, and of a question to its answer.

pub mod app;
pub mod auth;
pub mod book;
pub mod cli;
pub mod clock;
pub mod config;
pub mod demo;
pub mod hours;
pub mod http;
pub mod problem;
pub mod request_id;
