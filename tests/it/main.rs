//! One binary for all tests that need more than one package.
#![cfg(test)]

mod access;
mod bad_input;
mod catalogue;
mod cells;
mod cli;
mod crash;
mod daily;
mod disk_full;
mod file_gone;
mod floor;
mod floor_cases;
mod full_queue;
mod golden_logs;
mod harness;
mod hours;
mod ledger;
mod ledger_api;
mod machines;
mod nist;
mod notes;
mod oauth;
mod openapi;
mod orders;
mod permissions;
mod plans;
mod races;
mod secret_in_log;
mod served;
mod session;
mod signals;
mod site;
mod stream;
mod tidy;
mod users;
mod writer_fault;
