//! The file of a SQLite database, watched: a process that has it open writes on into it when it was deleted, and what is
//! acknowledged then is gone with the process.

use crate::error::StoreError;
use std::ffi::OsString;
use std::fs::{self, Metadata};
use std::path::{Path, PathBuf};

#[derive(Debug)]
pub(crate) struct DatabaseFile {
    path: PathBuf,
    /// New commits lie in it until they are copied into the database.
    log: PathBuf,
    opened: Identity,
}

#[cfg(unix)]
type Identity = (u64, u64);
#[cfg(not(unix))]
type Identity = ();

#[cfg(unix)]
fn identity(metadata: &Metadata) -> Identity {
    use std::os::unix::fs::MetadataExt;
    (metadata.dev(), metadata.ino())
}

#[cfg(not(unix))]
const fn identity(_: &Metadata) -> Identity {}

impl DatabaseFile {
    /// `None` for a database in memory.
    pub(crate) fn opened_at(path: &Path) -> Option<Self> {
        let opened = identity(&fs::metadata(path).ok()?);
        let mut log: OsString = path.as_os_str().to_owned();
        log.push("-wal");
        Some(Self {
            path: path.to_owned(),
            log: log.into(),
            opened,
        })
    }

    pub(crate) fn refuse_if_gone(&self) -> Result<(), StoreError> {
        match fs::metadata(&self.path) {
            Ok(found) if identity(&found) == self.opened => Ok(()),
            Ok(_) => Err(gone(&self.path, "another file lies in its place")),
            Err(error) => Err(gone(&self.path, &error.to_string())),
        }
    }

    /// As long as somebody writes, both are there.
    pub(crate) fn refuse_if_any_gone(&self) -> Result<(), StoreError> {
        self.refuse_if_gone()?;
        match fs::metadata(&self.log) {
            Ok(_) => Ok(()),
            Err(error) => Err(gone(&self.log, &error.to_string())),
        }
    }
}

fn gone(path: &Path, why: &str) -> StoreError {
    StoreError::Gone(format!(
        "{} was taken away under the service ({why}); put it back as it was, or stop the service, restore a backup and \
         start again",
        path.display()
    ))
}
