//! A database of its own for each test, cloned from a template that the migrations made once.

use super::container::{self, Container};
use super::folder::socket_url;
use super::shared::{self, SharedCluster};
use anyhow::{Context, Result};
use sha2::{Digest, Sha256};
use sqlx::postgres::PgConnectOptions;
use sqlx::{AssertSqlSafe, Connection, PgConnection};
use std::path::Path;
use std::str::FromStr;
use tokio::sync::OnceCell;
use uuid::Uuid;

enum Server {
    Given { url: String },
    Container(Box<Container>),
    Local(SharedCluster),
}

static SERVER: OnceCell<Server> = OnceCell::const_new();
static TEMPLATE: OnceCell<String> = OnceCell::const_new();

impl Server {
    async fn find() -> Result<&'static Self> {
        SERVER
            .get_or_try_init(|| async {
                if let Ok(url) = std::env::var("TEST_DATABASE_URL") {
                    return Ok(Self::Given { url });
                }
                if let Some(container) = container::start().await {
                    return Ok(Self::Container(Box::new(container?)));
                }
                Ok(Self::Local(tokio::task::spawn_blocking(shared::join).await??))
            })
            .await
    }

    fn administrator(&self) -> Result<PgConnectOptions> {
        match self {
            Self::Given { url } => {
                PgConnectOptions::from_str(url).context("TEST_DATABASE_URL is no PostgreSQL URL")
            }
            Self::Container(container) => Ok(container.administrator.clone()),
            Self::Local(cluster) => Ok(cluster.folder.administrator()),
        }
    }

    fn url(&self, database: &str) -> String {
        match self {
            Self::Given { url } => with_database(url, database),
            Self::Container(container) => {
                let (host, port) = (
                    container.administrator.get_host(),
                    container.administrator.get_port(),
                );
                format!("postgres://postgres@{host}:{port}/{database}")
            }
            Self::Local(cluster) => socket_url(&cluster.folder.root, database),
        }
    }
}

/// The same server and the same parameters, another database.
fn with_database(url: &str, database: &str) -> String {
    let (address, parameters) = url
        .split_once('?')
        .map_or((url, ""), |(address, rest)| (address, rest));
    let authority_from = address.find("://").map_or(0, |at| at + 3);
    let server = match address[authority_from..].find('/') {
        Some(slash) => &address[..authority_from + slash],
        None => address,
    };
    let separator = if parameters.is_empty() { "" } else { "?" };
    format!("{server}/{database}{separator}{parameters}")
}

/// Gone when it is dropped, whoever is still connected.
pub struct TestDatabase {
    pub url: String,
    name: String,
}

impl TestDatabase {
    /// With the whole schema, and empty.
    pub async fn migrated() -> Result<Self> {
        let template = TEMPLATE.get_or_try_init(make_template).await?;
        Self::create(&format!("template \"{template}\"")).await
    }

    /// Without any table, for tests of the migrations themselves.
    pub async fn bare() -> Result<Self> {
        Self::create("template template0").await
    }

    async fn create(from: &str) -> Result<Self> {
        let server = Server::find().await?;
        let name = format!("test_{}", Uuid::now_v7().simple());
        let mut connection = PgConnection::connect_with(&server.administrator()?).await?;
        run(&mut connection, format!("create database \"{name}\" {from}")).await?;
        connection.close().await?;
        Ok(Self {
            url: server.url(&name),
            name,
        })
    }
}

impl Drop for TestDatabase {
    fn drop(&mut self) {
        let name = self.name.clone();
        // A test may be dropped from inside of a runtime, which cannot be blocked on: so on a thread with its own.
        let dropping = std::thread::spawn(move || -> Result<()> {
            let runtime = tokio::runtime::Builder::new_current_thread()
                .enable_all()
                .build()?;
            runtime.block_on(async {
                let server = Server::find().await?;
                let mut connection = PgConnection::connect_with(&server.administrator()?).await?;
                run(
                    &mut connection,
                    format!("drop database if exists \"{name}\" with (force)"),
                )
                .await?;
                Ok(connection.close().await?)
            })
        });
        match dropping.join() {
            Ok(Ok(())) => {}
            Ok(Err(error)) => eprintln!("the test database {} could not be dropped: {error:#}", self.name),
            Err(_) => eprintln!("the test database {} could not be dropped", self.name),
        }
    }
}

/// One template for each state of the migrations; several test processes may want it at once.
async fn make_template() -> Result<String> {
    let server = Server::find().await?;
    let name = format!("template_{}", migrations_digest()?);
    let mut connection = PgConnection::connect_with(&server.administrator()?).await?;
    sqlx::query("select pg_advisory_lock(hashtextextended($1, 0))")
        .bind(&name)
        .execute(&mut connection)
        .await?;
    let is_whole: Option<bool> =
        sqlx::query_scalar("select datistemplate from pg_database where datname = $1")
            .bind(&name)
            .fetch_optional(&mut connection)
            .await?;
    if is_whole != Some(true) {
        run(
            &mut connection,
            format!("drop database if exists \"{name}\" with (force)"),
        )
        .await?;
        run(
            &mut connection,
            format!("create database \"{name}\" template template0"),
        )
        .await?;
        crate::engine::migrate(&server.url(&name)).await?;
        run(
            &mut connection,
            format!("alter database \"{name}\" is_template true allow_connections false"),
        )
        .await?;
    }
    // Ends the lock too.
    connection.close().await?;
    Ok(name)
}

/// The names alone would not tell that a step was edited while it is being written.
fn migrations_digest() -> Result<String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../migrations/src");
    let mut files: Vec<_> = std::fs::read_dir(&folder)?
        .flatten()
        .map(|entry| entry.path())
        .collect();
    files.sort();
    let mut digest = Sha256::new();
    for file in files {
        digest.update(std::fs::read(&file).with_context(|| format!("cannot read {}", file.display()))?);
    }
    Ok(hex::encode(&digest.finalize()[..8]))
}

pub(super) async fn run(connection: &mut PgConnection, statement: String) -> Result<()> {
    // Names that we made ourselves: databases cannot be bound as parameters.
    sqlx::raw_sql(AssertSqlSafe(statement))
        .execute(connection)
        .await?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_database_of_a_url_is_replaced() {
        assert_eq!(
            with_database("postgres://u:p@h:5/old?sslmode=disable", "new"),
            "postgres://u:p@h:5/new?sslmode=disable"
        );
        assert_eq!(with_database("postgres://u@h/old", "new"), "postgres://u@h/new");
        assert_eq!(with_database("postgres://u@h", "new"), "postgres://u@h/new");
        assert_eq!(
            with_database("postgres://u@h/old?host=/tmp/x", "new"),
            "postgres://u@h/new?host=/tmp/x"
        );
    }

    #[tokio::test]
    async fn a_database_is_gone_with_its_test_even_while_somebody_is_connected() {
        let database = TestDatabase::bare().await.unwrap();
        let name = database.name.clone();
        let mut user = PgConnection::connect(&database.url).await.unwrap();
        let one: i32 = sqlx::query_scalar("select 1").fetch_one(&mut user).await.unwrap();
        assert_eq!(one, 1);
        drop(database);
        let server = Server::find().await.unwrap();
        let mut administrator = PgConnection::connect_with(&server.administrator().unwrap())
            .await
            .unwrap();
        let left: i64 = sqlx::query_scalar("select count(*) from pg_database where datname = $1")
            .bind(&name)
            .fetch_one(&mut administrator)
            .await
            .unwrap();
        assert_eq!(left, 0);
    }
}
