//! Spindlebook's service: the road of a command from HTTP to the ledger, and of a question to its answer.

pub mod cli;
