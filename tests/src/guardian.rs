//! Cleaning up after this process even if it is killed: a shell waits on a pipe that only we hold open.

use anyhow::{Context, Result};
use std::ffi::OsStr;
use std::os::unix::process::CommandExt;
use std::process::{Child, Command, Stdio};

/// Runs a shell script once this process has ended, unless it was dropped before.
pub struct Guardian(Child);

impl Guardian {
    /// The script sees `arguments` as `$1`, `$2` and so on.
    pub fn at_our_end<A: AsRef<OsStr>>(script: &str, arguments: &[A]) -> Result<Self> {
        let waiting = format!("cat >/dev/null; {script}");
        let child = Command::new("sh")
            .args(["-c", &waiting, "guardian"])
            .args(arguments)
            .stdin(Stdio::piped())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .current_dir("/")
            // Out of our process group, so that an interrupt at the terminal does not end it before its work.
            .process_group(0)
            .spawn()
            .context("the guardian shell did not start")?;
        Ok(Self(child))
    }
}

impl Drop for Guardian {
    fn drop(&mut self) {
        // Its `cat` ends by itself as soon as the pipe closes, and with the shell gone nothing follows.
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}
