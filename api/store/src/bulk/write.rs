//! Writing many rows at once, of one table or of several.

use super::{Query, arrays, bind, bind_array, chunks, write_places};
use crate::connection::{Connection, Transaction};
use crate::error::StoreError;
use crate::record::{Record, Table, Value};
use spindlebook_domain::ids::SiteId;
use sqlx::{AssertSqlSafe, Postgres, SqliteConnection};
use std::fmt::Write;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Existing {
    /// A row with this key is a fault.
    Refuse,
    /// A row with this key is written over.
    Replace,
}

pub async fn write<'a, R: Record + 'a>(
    transaction: &mut Transaction,
    site: SiteId,
    existing: Existing,
    records: impl IntoIterator<Item = &'a R>,
) -> Result<(), StoreError> {
    let mut writes = Writes::default();
    writes.add(existing, records)?;
    match (writes.of_tables.pop(), transaction.connection()) {
        (None, _) => Ok(()),
        (Some(rows), Connection::Postgres(connection)) => {
            let query = sqlx::query(AssertSqlSafe(rows.postgres(2, ""))).bind(site.0);
            rows.bind_postgres(query).execute(connection).await?;
            Ok(())
        }
        (Some(rows), Connection::Sqlite(connection)) => rows.to_sqlite(connection, site).await,
    }
}

/// Rows of several tables that are written together, each once. They are sent with the new head of the ledger.
#[derive(Default)]
pub struct Writes<'a> {
    of_tables: Vec<OfTable<'a>>,
}

struct OfTable<'a> {
    table: Table,
    existing: Existing,
    rows: Vec<Vec<Value<'a>>>,
}

impl<'a> Writes<'a> {
    pub(crate) fn add<R: Record + 'a>(
        &mut self,
        existing: Existing,
        records: impl IntoIterator<Item = &'a R>,
    ) -> Result<(), StoreError> {
        let rows = records
            .into_iter()
            .map(Record::values)
            .collect::<Result<Vec<_>, _>>()?;
        if !rows.is_empty() {
            let table = R::TABLE;
            self.of_tables.push(OfTable {
                table,
                existing,
                rows,
            });
        }
        Ok(())
    }

    /// One statement with `main`, whose places are `$1`, the site, to those before `first`: every round trip costs both
    /// sides as much as writing some rows.
    pub(crate) fn before_postgres(&self, main: &str, first: usize) -> String {
        let mut first = first;
        let mut sql = String::new();
        for (number, rows) in self.of_tables.iter().enumerate() {
            let opening = if number == 0 { "WITH " } else { ", " };
            let _ = write!(sql, "{opening}written_{number} AS ({})", rows.postgres(first, ""));
            first += rows.table.columns.len();
        }
        let _ = write!(sql, " {main}");
        sql
    }

    /// One statement that begins with `first_step`, a common table expression named `step`, and writes the rows only if
    /// that gives one. It gives how many that were.
    pub(crate) fn after_postgres(&self, step: &str, first_step: &str, first: usize) -> String {
        let mut first = first;
        let mut sql = format!("WITH {step} AS ({first_step})");
        let condition = format!(" WHERE EXISTS (SELECT 1 FROM {step})");
        for (number, rows) in self.of_tables.iter().enumerate() {
            let _ = write!(
                sql,
                ", written_{number} AS ({})",
                rows.postgres(first, &condition)
            );
            first += rows.table.columns.len();
        }
        let _ = write!(sql, " SELECT count(*) FROM {step}");
        sql
    }

    pub(crate) fn bind_postgres(&self, query: Query<Postgres>) -> Query<Postgres> {
        self.of_tables
            .iter()
            .fold(query, |query, rows| rows.bind_postgres(query))
    }

    pub(crate) async fn to_sqlite(
        &self,
        connection: &mut SqliteConnection,
        site: SiteId,
    ) -> Result<(), StoreError> {
        for rows in &self.of_tables {
            rows.to_sqlite(connection, site).await?;
        }
        Ok(())
    }
}

impl OfTable<'_> {
    /// With one array for each column from place `first` on; `$1` is the site.
    fn postgres(&self, first: usize, condition: &str) -> String {
        let Self { table, existing, .. } = self;
        let mut sql = format!(
            "INSERT INTO {} (site_id, {}) SELECT $1, wanted.* FROM unnest({}) AS wanted{condition}",
            table.name,
            table.names(""),
            arrays(table.columns, first)
        );
        table.write_conflict(*existing, &mut sql);
        sql
    }

    fn bind_postgres(&self, query: Query<Postgres>) -> Query<Postgres> {
        let columns = self.table.columns.iter().enumerate();
        columns.fold(query, |query, (column, (_, kind))| {
            bind_array(query, &self.rows, column, *kind)
        })
    }

    async fn to_sqlite(&self, connection: &mut SqliteConnection, site: SiteId) -> Result<(), StoreError> {
        let Self {
            table,
            existing,
            rows,
        } = self;
        for chunk in chunks(rows) {
            let mut sql = format!(
                "INSERT INTO {} (site_id, {}) VALUES ",
                table.name,
                table.names("")
            );
            write_places(&mut sql, chunk.len(), 1 + table.columns.len());
            table.write_conflict(*existing, &mut sql);
            let mut query = sqlx::query(AssertSqlSafe(sql));
            for row in chunk {
                query = row.iter().fold(query.bind(site.0), bind);
            }
            query.execute(&mut *connection).await?;
        }
        Ok(())
    }
}

impl Table {
    fn write_conflict(&self, existing: Existing, sql: &mut String) {
        if existing == Existing::Refuse {
            return;
        }
        let (key, rest) = self.columns.split_at(self.key);
        let key = key.iter().map(|(name, _)| *name).collect::<Vec<_>>().join(", ");
        let rest = rest
            .iter()
            .map(|(name, _)| format!("{name} = excluded.{name}"))
            .collect::<Vec<_>>()
            .join(", ");
        let _ = write!(sql, " ON CONFLICT (site_id, {key}) DO UPDATE SET {rest}");
    }
}
