//! Checks of the source tree itself. Each takes texts and gives complaints, so that a test can feed it something
//! wrong; `tests/it/tidy.rs` feeds them the real tree.

pub mod direction;
pub mod layout;
pub mod links;
pub mod lists;
pub mod manifest;
pub mod reach;
pub mod size;
pub mod source;
mod tokens;
pub mod words;

use std::fmt;

/// Something that a reader has to put right, and where.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Complaint {
    pub path: String,
    /// Counted from 1; 0 where it is about the whole file.
    pub line: usize,
    pub what: String,
}

impl Complaint {
    fn new(path: &str, line: usize, what: impl Into<String>) -> Self {
        Self {
            path: path.to_owned(),
            line,
            what: what.into(),
        }
    }
}

impl fmt::Display for Complaint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.line {
            0 => write!(f, "{}: {}", self.path, self.what),
            line => write!(f, "{}:{line}: {}", self.path, self.what),
        }
    }
}

/// Fails with one line for each complaint.
#[track_caller]
pub fn assert_none(complaints: &[Complaint]) {
    let lines: Vec<String> = complaints.iter().map(Complaint::to_string).collect();
    assert!(lines.is_empty(), "\n{}\n", lines.join("\n"));
}
