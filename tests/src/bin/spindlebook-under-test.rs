//! The program itself, built where the tests know its path.

use std::process::ExitCode;

fn main() -> ExitCode {
    spindlebook::cli::run()
}
