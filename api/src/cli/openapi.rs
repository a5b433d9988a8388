//! `spindlebook openapi`: the API's document.

use super::failure::Failure;
use super::terminal::Terminal;
use crate::http::openapi;

pub const HELP: &str = "\
Example:
  spindlebook openapi > openapi.json

Exit codes: 0 done; 2 wrong usage.";

pub fn run(terminal: &mut Terminal) -> Result<(), Failure> {
    terminal.json(&openapi::document())
}
