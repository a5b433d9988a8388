//! What is wrong with a file: where, which value, and what would be right.

use crate::cli::instant::shortened;
use spindlebook_domain::machine_state::MachineState;
use std::fmt;

/// How many faults are listed; of the others only the number is told.
const LISTED_MAX: usize = 20;

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// 0: the file as a whole.
    pub line: u64,
    /// Empty: the line as a whole.
    pub column: String,
    pub what: String,
}

impl Fault {
    pub fn nowhere(what: &str, remedy: &str) -> Self {
        Self {
            line: 0,
            column: String::new(),
            what: format!("{what}; {remedy}"),
        }
    }

    pub fn header(column: &str, what: String) -> Self {
        Self {
            line: 1,
            column: column.to_owned(),
            what,
        }
    }

    pub fn unreadable(error: &csv::Error) -> Self {
        Self {
            line: error.position().map_or(0, csv::Position::line),
            column: String::new(),
            what: format!("the line does not read as CSV: {error}"),
        }
    }

    pub fn state(line: u64, column: String, given: &str) -> Self {
        let upper = given.to_ascii_uppercase().replace([' ', '-'], "_");
        let near = MachineState::parse(&upper).ok();
        let hint = near.map_or_else(
            || {
                format!(
                    "write one of {}",
                    MachineState::ALL.map(MachineState::name).join(", ")
                )
            },
            |near| format!("write {near}"),
        );
        Self {
            line,
            column,
            what: format!("`{}` is no state: {hint}", shortened(given)),
        }
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.line, self.column.as_str()) {
            (0, _) => write!(f, "{}", self.what),
            (line, "") => write!(f, "line {line}: {}", self.what),
            (line, column) => write!(f, "line {line}, column {column}: {}", self.what),
        }
    }
}

/// The first faults of a file and the number of all.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Faults {
    first: Vec<Fault>,
    count: usize,
}

impl Faults {
    pub fn of(fault: Fault) -> Self {
        let mut faults = Self::default();
        faults.push(fault);
        faults
    }

    pub fn push(&mut self, fault: Fault) {
        self.count += 1;
        if self.first.len() < LISTED_MAX {
            self.first.push(fault);
        }
    }

    pub const fn is_empty(&self) -> bool {
        self.count == 0
    }

    pub fn or<T>(self, value: T) -> Result<T, Self> {
        if self.is_empty() { Ok(value) } else { Err(self) }
    }
}

impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, fault) in self.first.iter().enumerate() {
            write!(f, "{}{fault}", if index == 0 { "" } else { "\n" })?;
        }
        match self.count - self.first.len() {
            0 => Ok(()),
            more => write!(f, "\nand {more} more"),
        }
    }
}
