//! The whole command line, built with the tests: cargo tells only a package's own tests where its binary lies.

use std::process::ExitCode;

fn main() -> ExitCode {
    spindlebook::cli::run()
}
