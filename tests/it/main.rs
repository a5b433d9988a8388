//! One binary for all tests that need more than one package.
#![cfg(test)]

mod cli;
mod ledger;
mod tidy;
