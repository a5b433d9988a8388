//! Connections and transactions on either engine.

use crate::database_file::DatabaseFile;
use crate::error::StoreError;
use sqlx::pool::PoolConnection;
use sqlx::{PgConnection, PgPool, Postgres, Sqlite, SqliteConnection, SqlitePool};
use std::ops::{Deref, DerefMut};
use std::sync::Arc;

/// An open database. Clones share its connections.
#[derive(Clone, Debug)]
pub struct Store {
    pub(crate) pool: Pool,
}

#[derive(Clone, Debug)]
pub(crate) enum Pool {
    Postgres(PgPool),
    Sqlite(SqlitePool, Option<Arc<DatabaseFile>>),
}

/// One connection, for reading; given back when it is dropped.
#[derive(Debug)]
pub struct Session(Held);

/// A session whose changes stand or fall together. Dropped without [`Transaction::commit`] it leaves nothing.
#[derive(Debug)]
pub struct Transaction(Session);

#[derive(Debug)]
enum Held {
    Postgres(PoolConnection<Postgres>),
    PostgresTransaction(sqlx::Transaction<'static, Postgres>),
    Sqlite(PoolConnection<Sqlite>),
    SqliteTransaction(sqlx::Transaction<'static, Sqlite>, Option<Arc<DatabaseFile>>),
}

/// The connection itself, for [`on_either`].
pub(crate) enum Connection<'a> {
    Postgres(&'a mut PgConnection),
    Sqlite(&'a mut SqliteConnection),
}

/// Runs one expression against whichever engine it is: the same source for both.
macro_rules! on_either {
    ($session:expr, |$connection:ident| $run:expr) => {
        match $session.connection() {
            $crate::connection::Connection::Postgres($connection) => $run,
            $crate::connection::Connection::Sqlite($connection) => $run,
        }
    };
}
pub(crate) use on_either;

impl Store {
    /// A connection for reading, each statement for itself.
    pub async fn session(&self) -> Result<Session, StoreError> {
        Ok(Session(match &self.pool {
            Pool::Postgres(pool) => Held::Postgres(pool.acquire().await?),
            Pool::Sqlite(pool, file) => {
                refuse_if_gone(file.as_ref())?;
                Held::Sqlite(pool.acquire().await?)
            }
        }))
    }

    /// A connection for reading that sees one state throughout, whatever is written meanwhile.
    pub async fn frozen_session(&self) -> Result<Session, StoreError> {
        let mut session = Session(match &self.pool {
            Pool::Postgres(pool) => Held::PostgresTransaction(
                pool.begin_with("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY")
                    .await?,
            ),
            Pool::Sqlite(pool, file) => {
                refuse_if_gone(file.as_ref())?;
                Held::SqliteTransaction(pool.begin().await?, None)
            }
        });
        session.may_pause().await?;
        Ok(session)
    }

    /// As [`Store::begin`], for a work that computes for longer between its statements than a batch ever does.
    pub async fn begin_long(&self) -> Result<Transaction, StoreError> {
        let mut transaction = self.begin().await?;
        transaction.may_pause().await?;
        Ok(transaction)
    }

    /// Begins to write. SQLite takes its one write lock at once: a transaction that reads first and then wants to
    /// write fails when another has written between, however long it would be ready to wait.
    pub async fn begin(&self) -> Result<Transaction, StoreError> {
        Ok(Transaction(Session(match &self.pool {
            Pool::Postgres(pool) => Held::PostgresTransaction(pool.begin().await?),
            Pool::Sqlite(pool, file) => {
                refuse_if_gone(file.as_ref())?;
                Held::SqliteTransaction(pool.begin_with("BEGIN IMMEDIATE").await?, file.clone())
            }
        })))
    }

    /// Whether a batch may go in one statement, see [`crate::site::advance_at_once`].
    pub const fn can_advance_at_once(&self) -> bool {
        matches!(&self.pool, Pool::Postgres(_))
    }

    pub async fn close(&self) {
        match &self.pool {
            Pool::Postgres(pool) => pool.close().await,
            Pool::Sqlite(pool, _) => pool.close().await,
        }
    }

    pub const fn engine(&self) -> &'static str {
        match &self.pool {
            Pool::Postgres(_) => "PostgreSQL",
            Pool::Sqlite(..) => "SQLite",
        }
    }
}

impl Session {
    async fn may_pause(&mut self) -> Result<(), StoreError> {
        if let Connection::Postgres(connection) = self.connection() {
            sqlx::query("SET LOCAL idle_in_transaction_session_timeout = 0")
                .execute(connection)
                .await?;
        }
        Ok(())
    }

    pub(crate) fn connection(&mut self) -> Connection<'_> {
        match &mut self.0 {
            Held::Postgres(connection) => Connection::Postgres(connection),
            Held::PostgresTransaction(transaction) => Connection::Postgres(transaction),
            Held::Sqlite(connection) => Connection::Sqlite(connection),
            Held::SqliteTransaction(transaction, _) => Connection::Sqlite(transaction),
        }
    }
}

impl Transaction {
    /// Any failure here but [`StoreError::Full`] leaves open whether the transaction stands: the server may have
    /// committed before its answer got lost. Who calls must look before doing the same again.
    pub async fn commit(self) -> Result<(), StoreError> {
        let done = match self.0.0 {
            Held::PostgresTransaction(transaction) => transaction.commit().await,
            Held::SqliteTransaction(transaction, file) => {
                let done = transaction.commit().await;
                // Committed into a file that has no name any more: nobody may hear that it stands.
                if let (Ok(()), Some(file)) = (&done, file) {
                    file.refuse_if_any_gone()?;
                }
                done
            }
            Held::Postgres(_) | Held::Sqlite(_) => Ok(()),
        };
        done.map_err(failed_commit)
    }
}

fn refuse_if_gone(file: Option<&Arc<DatabaseFile>>) -> Result<(), StoreError> {
    file.map_or(Ok(()), |file| file.refuse_if_gone())
}

/// An engine that finds no space says so before anything stands.
fn failed_commit(error: sqlx::Error) -> StoreError {
    let text = error.to_string();
    match StoreError::from(error) {
        full @ StoreError::Full(_) => full,
        _ => StoreError::CommitUnknown(text),
    }
}

impl Deref for Transaction {
    type Target = Session;
    fn deref(&self) -> &Session {
        &self.0
    }
}

impl DerefMut for Transaction {
    fn deref_mut(&mut self) -> &mut Session {
        &mut self.0
    }
}

#[cfg(test)]
mod tests;
