//! Spindlebook's service: the book of each site, its HTTP API and its command line.

pub mod book;
pub mod clock;
