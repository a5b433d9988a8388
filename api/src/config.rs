//! Settings: from the command line, else from the environment, else from a TOML file, else as they are by default.

use serde::Deserialize;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::{fs, io};

pub const DATA_DEFAULT: &str = "data";
/// Only this machine can reach it: whoever opens it to others does so on purpose.
pub const LISTEN_DEFAULT: &str = "127.0.0.1:8080";

/// What a configuration file may hold. Its relative paths count from its own folder.
#[derive(Clone, Debug, Default, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ConfigFile {
    pub data: Option<PathBuf>,
    pub database_url: Option<String>,
    pub site: Option<String>,
    pub signing_key: Option<PathBuf>,
    pub listen: Option<SocketAddr>,
    pub metrics_listen: Option<SocketAddr>,
    pub tls_cert: Option<PathBuf>,
    pub tls_key: Option<PathBuf>,
}

#[derive(Debug, thiserror::Error)]
pub enum ConfigError {
    #[error("the configuration {path} cannot be read: {cause}", path = .path.display())]
    File { path: PathBuf, cause: io::Error },
    #[error("the configuration {path} is not right: {cause}", path = .path.display())]
    Content { path: PathBuf, cause: String },
}

impl ConfigFile {
    pub fn read(path: &Path) -> Result<Self, ConfigError> {
        let text = fs::read_to_string(path).map_err(|cause| ConfigError::File {
            path: path.to_owned(),
            cause,
        })?;
        let mut file: Self = toml::from_str(&text).map_err(|error| ConfigError::Content {
            path: path.to_owned(),
            cause: error.to_string().trim_end().to_owned(),
        })?;
        let folder = path.parent().unwrap_or(Path::new(""));
        let paths = [
            &mut file.data,
            &mut file.signing_key,
            &mut file.tls_cert,
            &mut file.tls_key,
        ];
        for path in paths.into_iter().flatten() {
            *path = folder.join(&*path);
        }
        Ok(file)
    }
}

/// Where a ledger lies.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// Holds the signing key, and the database unless that is elsewhere.
    pub data: PathBuf,
    /// `None`: SQLite in the data folder.
    pub database_url: Option<String>,
    pub signing_key: PathBuf,
}

impl Place {
    pub fn new(data: PathBuf, database_url: Option<String>, signing_key: Option<PathBuf>) -> Self {
        Self {
            signing_key: signing_key.unwrap_or_else(|| data.join("signing-key.pem")),
            database_url,
            data,
        }
    }

    pub fn sqlite_file(&self) -> PathBuf {
        self.data.join("spindlebook.sqlite")
    }

    pub fn url(&self) -> String {
        self.database_url
            .clone()
            .unwrap_or_else(|| sqlite_url(&self.sqlite_file()))
    }

    /// What to call it in a sentence; an address may hold a password, and is not repeated.
    pub fn name(&self) -> String {
        match &self.database_url {
            Some(url) => format!("the database at {}", without_secrets(url)),
            None => self.data.display().to_string(),
        }
    }

    /// Nothing has been kept here yet. An elsewhere is never known to be empty before it is opened.
    pub fn is_new(&self) -> bool {
        self.database_url.is_none() && !self.sqlite_file().exists()
    }
}

/// In an address, `%`, `?` and `#` of a path would mean something else.
pub fn sqlite_url(file: &Path) -> String {
    let path = file
        .display()
        .to_string()
        .replace('%', "%25")
        .replace('?', "%3F")
        .replace('#', "%23");
    format!("sqlite://{path}?mode=rwc")
}

/// Scheme, host and name of the database, without user and password.
fn without_secrets(url: &str) -> String {
    let (scheme, rest) = url.split_once("://").unwrap_or(("", url));
    let rest = rest.split('?').next().unwrap_or_default();
    let shown = rest.rsplit_once('@').map_or(rest, |(_, shown)| shown);
    format!("{scheme}://{shown}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_counts_its_paths_from_its_own_folder_and_refuses_what_it_does_not_know() {
        let folder = std::env::temp_dir().join(format!("spindlebook-config-{}", std::process::id()));
        fs::create_dir_all(&folder).unwrap();
        let path = folder.join("spindlebook.toml");
        fs::write(&path, "data = \"ledger\"\nlisten = \"0.0.0.0:80\"\n").unwrap();
        let file = ConfigFile::read(&path).unwrap();
        assert_eq!(file.data, Some(folder.join("ledger")));
        assert_eq!(file.listen.map(|listen| listen.port()), Some(80));
        fs::write(&path, "liste = \"0.0.0.0:80\"\n").unwrap();
        let refused = ConfigFile::read(&path).unwrap_err().to_string();
        fs::remove_dir_all(&folder).unwrap();
        assert!(
            refused.contains("unknown field `liste`") && refused.contains("`listen`"),
            "{refused}"
        );
    }

    #[test]
    fn an_address_is_named_without_its_password() {
        let place = Place::new(
            "d".into(),
            Some("postgres://anna:p@ss@db.example:5432/shop?sslmode=require".into()),
            None,
        );
        assert_eq!(place.name(), "the database at postgres://db.example:5432/shop");
        assert_eq!(
            sqlite_url(Path::new("/a b/50%?#.sqlite")),
            "sqlite:///a b/50%25%3F%23.sqlite?mode=rwc"
        );
    }
}
