//! The two databases that every test of the service runs on.

use crate::postgres::TestDatabase;
use crate::temporary;
use anyhow::Result;
use spindlebook_store::Store;
use std::fs;
use std::path::{Path, PathBuf};
use tempfile::TempDir;
use tokio::sync::OnceCell;

/// What the service calls it in its data folder.
const SQLITE_FILE: &str = "spindlebook.sqlite";

static SQLITE_TEMPLATE: OnceCell<Vec<u8>> = OnceCell::const_new();

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Engine {
    Sqlite,
    Postgres,
}

impl Engine {
    /// As the store calls it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Sqlite => "SQLite",
            Self::Postgres => "PostgreSQL",
        }
    }
}

/// A data folder and a migrated, empty database. Both are gone when this is dropped.
pub struct Storage {
    pub engine: Engine,
    pub url: String,
    folder: TempDir,
    _database: Option<TestDatabase>,
}

impl Storage {
    pub async fn new(engine: Engine) -> Result<Self> {
        let folder = temporary::folder()?;
        let (url, database) = match engine {
            Engine::Sqlite => {
                let file = folder.path().join(SQLITE_FILE);
                fs::write(
                    &file,
                    SQLITE_TEMPLATE.get_or_try_init(make_sqlite_template).await?,
                )?;
                (sqlite_url(&file), None)
            }
            Engine::Postgres => {
                let database = TestDatabase::migrated().await?;
                (database.url.clone(), Some(database))
            }
        };
        Ok(Self {
            engine,
            url,
            folder,
            _database: database,
        })
    }

    /// For whatever else a service keeps: its signing key, its backups.
    pub fn folder(&self) -> PathBuf {
        self.folder.path().to_owned()
    }
}

/// The steps of the schema cost a tenth of a second; a copy of what they make costs nothing. Its last connection
/// closed, SQLite has put everything into the one file.
async fn make_sqlite_template() -> Result<Vec<u8>> {
    let folder = temporary::folder()?;
    let file = folder.path().join(SQLITE_FILE);
    migrate(&sqlite_url(&file)).await?;
    Ok(fs::read(file)?)
}

fn sqlite_url(file: &Path) -> String {
    format!("sqlite://{}?mode=rwc", file.display())
}

/// The store brings the schema up to date when it opens a database.
pub(crate) async fn migrate(url: &str) -> Result<()> {
    Store::open_for_tests(url, 1).await?.close().await;
    Ok(())
}

/// Each test of the block becomes two: `name::on_sqlite` and `name::on_postgres`. The argument is the [`Engine`].
#[macro_export]
macro_rules! on_both_engines {
    ($($(#[$meta:meta])* async fn $name:ident($engine:ident) $body:block)+) => {$(
        $(#[$meta])*
        async fn $name($engine: $crate::engine::Engine) $body

        mod $name {
            #[tokio::test(flavor = "multi_thread", worker_threads = 1)]
            async fn on_sqlite() {
                super::$name($crate::engine::Engine::Sqlite).await;
            }

            #[tokio::test(flavor = "multi_thread", worker_threads = 1)]
            async fn on_postgres() {
                super::$name($crate::engine::Engine::Postgres).await;
            }
        }
    )+};
}

#[cfg(test)]
mod tests {
    use super::*;

    on_both_engines! {
        async fn every_test_has_a_database_of_its_own(engine) {
            let (one, other) = (Storage::new(engine).await.unwrap(), Storage::new(engine).await.unwrap());
            assert_ne!(one.url, other.url);
            let folder = one.folder();
            let store = Store::open_for_tests(&one.url, 2).await.unwrap();
            assert_eq!(store.engine(), engine.name());
            store.close().await;
            drop(one);
            assert!(!folder.exists(), "nothing is left of a test");
        }
    }
}
