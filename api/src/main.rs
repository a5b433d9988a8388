//! The program `spindlebook`.

use std::process::ExitCode;

fn main() -> ExitCode {
    spindlebook::cli::run()
}
