//! Spindlebook's service: the road of a command from HTTP to the ledger, and of a question to its answer.

// The example of an hours report in the OpenAPI document is one long JSON literal.
#![recursion_limit = "256"]

pub mod app;
pub mod auth;
pub mod book;
pub mod cli;
pub mod clock;
pub mod config;
pub mod daily;
pub mod demo;
pub mod hours;
pub mod http;
pub mod planning;
pub mod problem;
pub mod request_id;
