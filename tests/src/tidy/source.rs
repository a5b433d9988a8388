//! The files of the project.

use anyhow::{Context, Result};
use std::fs;
use std::path::{Path, PathBuf};

/// What is made from the project or belongs to one checkout only.
const NOT_OURS: [&str; 4] = [".git", "target", "data", "screens"];

/// A file with its path below the project's root, as `api/src/main.rs`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Source {
    pub path: String,
    pub text: String,
}

impl Source {
    pub fn new(path: &str, text: &str) -> Self {
        Self {
            path: path.to_owned(),
            text: text.to_owned(),
        }
    }

    pub fn is_rust(&self) -> bool {
        Path::new(&self.path)
            .extension()
            .is_some_and(|extension| extension == "rs")
    }

    /// Unit tests live beside the code in files of this name; `tests/it` is nothing but tests.
    pub fn is_test(&self) -> bool {
        self.path.ends_with("/tests.rs")
            || self.path.contains("/tests/")
            || self.path.starts_with("tests/it/")
    }

    /// What people write by hand: neither data nor anything generated.
    pub fn is_prose_or_code(&self) -> bool {
        let by_hand = [
            "rs", "md", "toml", "sh", "html", "css", "js", "sql", "service", "env", "yml",
        ];
        match Path::new(&self.path)
            .extension()
            .and_then(|extension| extension.to_str())
        {
            Some(extension) => by_hand.contains(&extension),
            None => true,
        }
    }
}

pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// Every text file below the root, in the order of the paths.
pub fn all() -> Result<Vec<Source>> {
    let mut sources = Vec::new();
    collect(&root(), "", &mut sources)?;
    sources.sort_by(|a, b| a.path.cmp(&b.path));
    Ok(sources)
}

/// The names at the root, folders with a slash behind.
pub fn top_level() -> Result<Vec<String>> {
    let mut names = Vec::new();
    for entry in fs::read_dir(root())?.flatten() {
        let name = entry.file_name().to_string_lossy().into_owned();
        let is_log = Path::new(&name)
            .extension()
            .is_some_and(|extension| extension == "log");
        if !NOT_OURS.contains(&name.as_str()) && !is_log {
            names.push(if entry.file_type()?.is_dir() {
                format!("{name}/")
            } else {
                name
            });
        }
    }
    names.sort();
    Ok(names)
}

fn collect(folder: &Path, prefix: &str, sources: &mut Vec<Source>) -> Result<()> {
    for entry in fs::read_dir(folder)
        .with_context(|| folder.display().to_string())?
        .flatten()
    {
        let name = entry.file_name().to_string_lossy().into_owned();
        let path = if prefix.is_empty() {
            name.clone()
        } else {
            format!("{prefix}/{name}")
        };
        let kind = entry.file_type()?;
        if NOT_OURS.contains(&name.as_str()) && path != "tests/data" {
            continue;
        }
        if kind.is_dir() {
            collect(&entry.path(), &path, sources)?;
        } else if kind.is_file()
            && let Ok(text) = fs::read_to_string(entry.path())
        {
            sources.push(Source { path, text });
        }
    }
    Ok(())
}
