//! A file that appears whole, or not at all, and never in the place of another.

use super::failure::Failure;
use std::fs::{self, File, OpenOptions};
use std::io;
use std::path::{Path, PathBuf};
use uuid::Uuid;

pub struct NewFile {
    to: PathBuf,
    /// Beside it under another name, so that a half-written file never passes for a whole one.
    draft: PathBuf,
}

impl NewFile {
    pub fn at(to: &Path) -> Result<Self, Failure> {
        if to.symlink_metadata().is_ok() {
            return Err(taken(to));
        }
        let folder = folder_of(to);
        if !folder.is_dir() {
            return Err(Failure::refused(format!(
                "there is no folder {} to write to",
                folder.display()
            )));
        }
        let draft = to.with_extension(format!("{}.draft", Uuid::new_v4()));
        create_private(&draft)?;
        Ok(Self {
            to: to.to_owned(),
            draft,
        })
    }

    /// It is there already, and empty.
    pub fn draft(&self) -> &Path {
        &self.draft
    }

    /// On disk first, then under its name; a link, unlike a move, fails where something has appeared meanwhile.
    pub fn keep(self) -> Result<(), Failure> {
        File::open(&self.draft)?.sync_all()?;
        fs::hard_link(&self.draft, &self.to).map_err(|error| match error.kind() {
            io::ErrorKind::AlreadyExists => taken(&self.to),
            _ => Failure::refused(format!("{} cannot be written: {error}", self.to.display())),
        })?;
        Ok(File::open(folder_of(&self.to))?.sync_all()?)
    }
}

impl Drop for NewFile {
    fn drop(&mut self) {
        let _ = fs::remove_file(&self.draft);
    }
}

/// Other users of the machine must not read names, notes and hashes of passwords in it.
fn create_private(file: &Path) -> Result<(), Failure> {
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options
        .open(file)
        .map_err(|error| Failure::refused(format!("{} cannot be written: {error}", file.display())))?;
    Ok(())
}

fn folder_of(path: &Path) -> &Path {
    path.parent()
        .filter(|folder| !folder.as_os_str().is_empty())
        .unwrap_or(Path::new("."))
}

fn taken(path: &Path) -> Failure {
    Failure::refused(format!(
        "{} is there already; nothing is ever written over",
        path.display()
    ))
}

#[cfg(all(test, unix))]
mod tests {
    use super::*;
    use std::os::unix::fs::PermissionsExt;

    #[test]
    fn only_its_owner_may_read_it() {
        let to = std::env::temp_dir().join(format!("spindlebook-new-{}.sqlite", Uuid::new_v4()));
        let file = NewFile::at(&to).unwrap();
        fs::write(file.draft(), b"hashes").unwrap();
        file.keep().unwrap();
        let mode = fs::metadata(&to).unwrap().permissions().mode();
        assert_eq!(mode & 0o777, 0o600);
        fs::remove_file(to).unwrap();
    }
}
