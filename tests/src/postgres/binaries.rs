//! Where the server's programs lie.

use anyhow::{Result, bail};
use std::fs;
use std::path::{Path, PathBuf};

/// The folder that holds `initdb` and `postgres`: `PG_BIN`, else the newest one that Debian installed, else the one
/// on the `PATH`.
pub(super) fn folder() -> Result<PathBuf> {
    if let Some(named) = std::env::var_os("PG_BIN") {
        return Ok(named.into());
    }
    if let Some(newest) = newest_under(Path::new("/usr/lib/postgresql")) {
        return Ok(newest);
    }
    let path = std::env::var_os("PATH").unwrap_or_default();
    match std::env::split_paths(&path).find(|folder| folder.join("initdb").exists()) {
        Some(found) => Ok(found),
        None => bail!(
            "the tests need PostgreSQL and found none: run tests/run, or install the package `postgresql`, or set \
             TEST_DATABASE_URL (a server) or PG_BIN (the folder of initdb)"
        ),
    }
}

fn newest_under(root: &Path) -> Option<PathBuf> {
    let versions = fs::read_dir(root).ok()?.flatten().filter_map(|entry| {
        let version: u32 = entry.file_name().to_str()?.parse().ok()?;
        let programs = entry.path().join("bin");
        programs.join("initdb").exists().then_some((version, programs))
    });
    versions
        .max_by_key(|(version, _)| *version)
        .map(|(_, programs)| programs)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn version_15_is_newer_than_version_9() {
        let root = tempfile::tempdir().unwrap();
        for version in ["9", "15", "other"] {
            let programs = root.path().join(version).join("bin");
            fs::create_dir_all(&programs).unwrap();
            fs::write(programs.join("initdb"), "").unwrap();
        }
        fs::create_dir_all(root.path().join("17").join("bin")).unwrap();
        assert_eq!(
            newest_under(root.path()),
            Some(root.path().join("15").join("bin"))
        );
    }
}
