//! Signals to processes that are not our direct children, without a line of unsafe code.

use anyhow::{Context, Result};
use std::fs;
use std::process::{Command, Stdio};

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Signal {
    Interrupt,
    Kill,
    Quit,
    Stop,
    Continue,
    Terminate,
}

impl Signal {
    const fn name(self) -> &'static str {
        match self {
            Self::Interrupt => "INT",
            Self::Kill => "KILL",
            Self::Quit => "QUIT",
            Self::Stop => "STOP",
            Self::Continue => "CONT",
            Self::Terminate => "TERM",
        }
    }
}

/// Sends the signal to every process of the list that still lives.
pub fn send(signal: Signal, processes: &[u32]) -> Result<()> {
    for process in processes {
        Command::new("sh")
            .args([
                "-c",
                "kill -\"$1\" \"$2\"",
                "kill",
                signal.name(),
                &process.to_string(),
            ])
            .stderr(Stdio::null())
            .status()
            .context("no shell to send a signal with")?;
    }
    Ok(())
}

/// The direct children of a process, as the kernel tells.
pub fn children_of(parent: u32) -> Result<Vec<u32>> {
    let listing = fs::read_dir("/proc").context("no /proc: the crash tests need Linux")?;
    let processes = listing
        .flatten()
        .filter_map(|entry| entry.file_name().to_str()?.parse::<u32>().ok());
    Ok(processes
        .filter(|process| parent_of(*process) == Some(parent))
        .collect())
}

/// A process that has ended but was not yet waited for counts as gone.
pub fn is_alive(process: u32) -> bool {
    stat_fields(process).is_some_and(|fields| fields.first().is_some_and(|state| state != "Z"))
}

fn parent_of(process: u32) -> Option<u32> {
    stat_fields(process)?.get(1)?.parse().ok()
}

/// The fields of `/proc/N/stat` behind the command name, which may hold blanks and brackets itself.
fn stat_fields(process: u32) -> Option<Vec<String>> {
    let stat = fs::read_to_string(format!("/proc/{process}/stat")).ok()?;
    let (_, behind_name) = stat.rsplit_once(')')?;
    Some(behind_name.split_whitespace().map(str::to_owned).collect())
}
