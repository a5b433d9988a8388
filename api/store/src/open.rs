//! Opening a database: connect, make sure that it keeps what it acknowledges, bring its schema up to date.

use crate::connection::{Pool, Store, on_either};
use crate::database_file::DatabaseFile;
use crate::error::StoreError;
use sea_orm::{ConnectOptions, Database, DatabaseConnection, DbBackend};
use sea_orm_migration::MigratorTrait;
use spindlebook_migrations::Migrator;
use sqlx::sqlite::{SqliteJournalMode, SqliteSynchronous};
use sqlx::{Connection as _, SqliteConnection};
use std::sync::Arc;
use std::time::Duration;

/// How long a statement waits for a connection, and on SQLite for another process's write to end.
const PATIENCE: Duration = Duration::from_secs(5);
/// A connection that rested for longer is tried before it is used: the server may have gone meanwhile.
const TRUSTED_FOR: Duration = Duration::from_secs(1);
/// Two processes that start at once must not both create the tables. Any number that no other program uses.
const MIGRATION_LOCK: i64 = 0x5350_494e_444c_4501;

impl Store {
    /// Opens `sqlite:` or `postgres:` and refuses a database that answers before what it was given is durable.
    pub async fn open(url: &str, connections_max: u32) -> Result<Self, StoreError> {
        Self::open_with(url, connections_max, SqliteSynchronous::Full, true, None).await
    }

    /// For tests that do not crash anything: takes a PostgreSQL that runs without fsync. No configuration gets here.
    pub async fn open_for_tests(url: &str, connections_max: u32) -> Result<Self, StoreError> {
        Self::open_with(url, connections_max, SqliteSynchronous::Full, false, None).await
    }

    /// For tests of a full disk: SQLite takes no more than so many pages of 4 KiB from this process.
    pub async fn open_full_after(
        url: &str,
        connections_max: u32,
        pages_max: u32,
    ) -> Result<Self, StoreError> {
        Self::open_with(
            url,
            connections_max,
            SqliteSynchronous::Full,
            true,
            Some(pages_max),
        )
        .await
    }

    async fn open_with(
        url: &str,
        connections_max: u32,
        synchronous: SqliteSynchronous,
        must_be_durable: bool,
        pages_max: Option<u32>,
    ) -> Result<Self, StoreError> {
        let database = connect(url, connections_max, synchronous, pages_max).await?;
        let pool = match database.get_database_backend() {
            DbBackend::Postgres => Pool::Postgres(database.get_postgres_connection_pool().clone()),
            DbBackend::Sqlite => {
                let pool = database.get_sqlite_connection_pool().clone();
                let file = DatabaseFile::opened_at(pool.connect_options().get_filename());
                Pool::Sqlite(pool, file.map(Arc::new))
            }
            _ => return Err(unsupported(url)),
        };
        let store = Self { pool };
        if must_be_durable {
            store.refuse_unless_durable().await?;
        }
        store.migrate(&database).await?;
        Ok(store)
    }

    async fn refuse_unless_durable(&self) -> Result<(), StoreError> {
        match &self.pool {
            Pool::Postgres(_) => {
                let settings: (String, String, String) = self
                    .one_row(
                        "SELECT current_setting('fsync'), current_setting('synchronous_commit'), \
                         current_setting('full_page_writes')",
                    )
                    .await?;
                for (name, value) in [
                    ("fsync", settings.0),
                    ("synchronous_commit", settings.1),
                    ("full_page_writes", settings.2),
                ] {
                    if value == "off" {
                        return Err(StoreError::Refused(format!(
                            "this PostgreSQL runs with {name} = off: it acknowledges what a crash can take back. \
                             Set {name} = on (for the server, the database and the role) and start again"
                        )));
                    }
                }
            }
            Pool::Sqlite(..) => {
                let (synchronous,): (i64,) = self.one_row("PRAGMA synchronous").await?;
                if synchronous < 2 {
                    return Err(StoreError::Refused(format!(
                        "SQLite runs with synchronous = {synchronous}, below FULL (2): it acknowledges what a power \
                         cut can take back"
                    )));
                }
            }
        }
        Ok(())
    }

    async fn one_row<T>(&self, sql: &'static str) -> Result<T, StoreError>
    where
        T: Send + Unpin,
        T: for<'r> sqlx::FromRow<'r, sqlx::postgres::PgRow>,
        T: for<'r> sqlx::FromRow<'r, sqlx::sqlite::SqliteRow>,
    {
        let mut session = self.session().await?;
        Ok(on_either!(session, |connection| sqlx::query_as(sql)
            .fetch_one(connection)
            .await)?)
    }

    async fn migrate(&self, database: &DatabaseConnection) -> Result<(), StoreError> {
        let Pool::Postgres(pool) = &self.pool else {
            return Ok(Migrator::up(database, None).await?);
        };
        let mut lock = pool.acquire().await?;
        sqlx::query("SELECT pg_advisory_lock($1)")
            .bind(MIGRATION_LOCK)
            .execute(&mut *lock)
            .await?;
        let migrated = Migrator::up(database, None).await;
        sqlx::query("SELECT pg_advisory_unlock($1)")
            .bind(MIGRATION_LOCK)
            .execute(&mut *lock)
            .await?;
        Ok(migrated?)
    }
}

async fn connect(
    url: &str,
    connections_max: u32,
    synchronous: SqliteSynchronous,
    pages_max: Option<u32>,
) -> Result<DatabaseConnection, StoreError> {
    if !["sqlite:", "postgres:", "postgresql:"]
        .iter()
        .any(|scheme| url.starts_with(scheme))
    {
        return Err(unsupported(url));
    }
    let mut options = ConnectOptions::new(url);
    // One connection holds the migration lock while another migrates.
    options
        .max_connections(connections_max.max(2))
        .sqlx_logging(false)
        .acquire_timeout(PATIENCE);
    options.test_before_acquire_if_idle_for(TRUSTED_FOR);
    options.map_sqlx_sqlite_opts(move |sqlite| {
        let sqlite = match pages_max {
            Some(pages) => sqlite.pragma("max_page_count", pages.to_string()),
            None => sqlite,
        };
        sqlite
            .create_if_missing(true)
            .journal_mode(SqliteJournalMode::Wal)
            .synchronous(synchronous)
            .foreign_keys(true)
            .busy_timeout(PATIENCE)
            // Pages that many batches change are copied into the database once for all of them; 16 MB, or 0.1 s.
            .pragma("wal_autocheckpoint", "4000")
            // Without it REPLACE displaces a row without firing its DELETE trigger.
            .pragma("recursive_triggers", "ON")
    });
    options.map_sqlx_sqlite_pool_opts(|pool| {
        pool.after_release(|connection, _| Box::pin(async move { is_out_of_transactions(connection).await }))
    });
    options.map_sqlx_postgres_opts(|postgres| {
        postgres
            .options([
                ("timezone", "UTC"),
                // A process that stops in the middle of a batch must not keep the site's head locked.
                ("idle_in_transaction_session_timeout", "5s"),
                // Our statements find rows by their keys, whatever the values are: planned once is planned for good.
                ("plan_cache_mode", "force_generic_plan"),
            ])
            .application_name("spindlebook")
    });
    Ok(Database::connect(options).await?)
}

/// When its disk is full or fails, SQLite rolls back by itself. The ROLLBACK that comes after it fails then, and this
/// connection would count itself inside a transaction for ever: it is closed instead of being used again.
async fn is_out_of_transactions(connection: &mut SqliteConnection) -> Result<bool, sqlx::Error> {
    // The rollback was only sent so far; an answer to what is sent after it tells that it is done.
    connection.ping().await?;
    Ok(!connection.is_in_transaction())
}

fn unsupported(url: &str) -> StoreError {
    let scheme = url.split(':').next().unwrap_or_default();
    StoreError::Refused(format!(
        "a database address must begin with `sqlite:` or `postgres:`, this one begins with `{scheme}:`"
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn a_sqlite_that_syncs_too_late_is_refused() {
        let refused = Store::open_with("sqlite::memory:", 1, SqliteSynchronous::Normal, true, None).await;
        assert!(matches!(refused, Err(StoreError::Refused(why)) if why.contains("synchronous = 1")));
    }

    #[tokio::test]
    async fn an_address_of_another_kind_is_refused_by_name() {
        let refused = Store::open("mysql://somewhere", 1).await;
        assert!(matches!(refused, Err(StoreError::Refused(why)) if why.contains("`mysql:`")));
    }
}
