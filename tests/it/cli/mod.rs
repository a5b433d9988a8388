//! The command line: most by calling it, and through the binary where processes, signals or files matter.

mod demo;
mod hours;
mod import;
mod ledger;
mod nist;
mod opening;
mod plan;
mod serve;
mod shop;

use spindlebook::cli::{Terminal, run_with};
use spindlebook_tests::process::Binary;
use std::ffi::OsString;
use std::path::Path;

/// What a command left behind.
pub struct Ran {
    pub exit: u8,
    pub out: String,
    pub err: String,
}

impl Ran {
    /// What it printed, if it succeeded.
    pub fn ok(self) -> String {
        assert_eq!(self.exit, 0, "{}", self.err);
        self.out
    }

    pub fn json(self) -> serde_json::Value {
        serde_json::from_str(&self.ok()).unwrap()
    }

    /// What it said, if it ended with this exit code.
    pub fn refused(self, exit: u8) -> String {
        assert_eq!(self.exit, exit, "{}{}", self.out, self.err);
        assert_eq!(self.out, "", "nothing is printed as if it were right");
        self.err
    }
}

/// Runs `spindlebook` with these arguments in this process.
pub fn spindlebook<A: AsRef<str>>(arguments: &[A]) -> Ran {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let arguments = arguments.iter().map(|argument| OsString::from(argument.as_ref()));
    let arguments = std::iter::once("spindlebook".into()).chain(arguments);
    let mut terminal = Terminal {
        out: &mut out,
        err: &mut err,
        watched: false,
    };
    let exit = run_with(arguments, &mut terminal);
    Ran {
        exit,
        out: String::from_utf8(out).unwrap(),
        err: String::from_utf8(err).unwrap(),
    }
}

/// The program as a process of its own.
pub fn binary(folder: &Path, database_url: Option<&str>) -> Binary {
    Binary::new(env!("CARGO_BIN_EXE_spindlebook-under-test"), folder, database_url)
}
