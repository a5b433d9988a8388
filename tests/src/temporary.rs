//! Folders for as long as a test lasts. All of a process lie in one, which is gone with the process, however it ends.

use crate::guardian::Guardian;
use anyhow::{Context, Result};
use std::path::PathBuf;
use std::sync::{Mutex, PoisonError};
use tempfile::TempDir;

struct Root {
    folder: PathBuf,
    /// Never dropped, as nothing static is: it acts when the process ends.
    _guardian: Guardian,
}

static ROOT: Mutex<Option<Root>> = Mutex::new(None);

/// Empty, and gone when it is dropped.
pub fn folder() -> Result<TempDir> {
    let mut root = ROOT.lock().unwrap_or_else(PoisonError::into_inner);
    if root.is_none() {
        let folder = tempfile::Builder::new()
            .prefix("spindlebook-tests-")
            .tempdir()?
            .keep();
        let guardian = Guardian::at_our_end("rm -rf \"$1\"", &[&folder])?;
        *root = Some(Root {
            folder,
            _guardian: guardian,
        });
    }
    let root = root.as_ref().context("it was made just now")?;
    Ok(tempfile::Builder::new().prefix("one-").tempdir_in(&root.folder)?)
}
