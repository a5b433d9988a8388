//! A log from a file or from standard input, wholly right or refused.

use super::failure::Failure;
use super::signal_file::{self, SignalFile};
use std::fs;
use std::io::{self, Read};
use std::path::Path;

/// `done` is what has not been done when it is refused, as in "nothing was imported".
pub fn read(path: &Path, done: &str) -> Result<SignalFile, Failure> {
    let bytes = if path == Path::new("-") {
        let mut bytes = Vec::new();
        io::stdin().lock().read_to_end(&mut bytes)?;
        bytes
    } else {
        fs::read(path)
            .map_err(|error| Failure::refused(format!("{} cannot be read: {error}", path.display())))?
    };
    signal_file::read(&bytes).map_err(|faults| {
        Failure::refused(format!(
            "{} is not right; nothing was {done}.\n{faults}",
            path.display()
        ))
    })
}
