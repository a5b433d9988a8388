//! One binary for all tests that need more than one package.
#![cfg(test)]

mod access;
mod cli;
mod crash;
mod harness;
mod ledger;
mod oauth;
mod session;
mod tidy;
mod users;
