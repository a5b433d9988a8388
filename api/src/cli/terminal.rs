//! Where a command writes: results to one stream, everything that is said about them to the other.

use super::failure::Failure;
use serde::Serialize;
use std::io::{self, Write};
use std::time::{Duration, Instant};

pub struct Terminal<'a> {
    pub out: &'a mut (dyn Write + Send),
    pub err: &'a mut (dyn Write + Send),
    /// Somebody watches `err`: only then is progress worth drawing.
    pub watched: bool,
}

impl Terminal<'_> {
    pub fn json(&mut self, value: &impl Serialize) -> Result<(), Failure> {
        serde_json::to_writer_pretty(&mut *self.out, value)?;
        Ok(writeln!(self.out)?)
    }

    /// A line beside the result.
    pub fn say(&mut self, line: impl AsRef<str>) -> io::Result<()> {
        writeln!(self.err, "{}", line.as_ref())
    }

    pub fn progress(&mut self, what: &'static str, of: u64) -> Progress<'_> {
        Progress {
            err: &mut *self.err,
            watched: self.watched,
            what,
            of,
            drawn_at: None,
        }
    }
}

/// A line that overwrites itself, for work that lasts longer than a breath.
pub struct Progress<'a> {
    err: &'a mut (dyn Write + Send),
    watched: bool,
    what: &'static str,
    /// 0: nobody knows how much there is.
    of: u64,
    drawn_at: Option<Instant>,
}

const REDRAWN_EVERY: Duration = Duration::from_millis(200);

impl Progress<'_> {
    pub fn at(&mut self, done: u64) {
        let is_due = self.drawn_at.is_none_or(|at| at.elapsed() >= REDRAWN_EVERY);
        if !self.watched || !is_due {
            return;
        }
        self.drawn_at = Some(Instant::now());
        let line = match (done * 100).checked_div(self.of) {
            Some(percent) => format!("{}: {done} of {} ({percent} %)", self.what, self.of),
            None => format!("{}: {done}", self.what),
        };
        // Progress is a courtesy; work goes on when it cannot be shown.
        let _ = write!(self.err, "\r{line}\x1b[K");
        let _ = self.err.flush();
    }
}

impl Drop for Progress<'_> {
    fn drop(&mut self) {
        if self.drawn_at.is_some() {
            let _ = write!(self.err, "\r\x1b[K");
        }
    }
}
