//! Writing and finding many rows of one table at once. PostgreSQL takes one array for each column and any number of
//! rows; SQLite takes rows of values, in numbers that come again, so that its statements stay prepared.

mod write;

pub use write::{Existing, Writes, write};

use crate::connection::{Connection, Session};
use crate::error::StoreError;
use crate::record::{Kind, Record, Table, Value, Values};
use spindlebook_domain::ids::SiteId;
use sqlx::postgres::PgRow;
use sqlx::sqlite::SqliteRow;
use sqlx::{AssertSqlSafe, Postgres, Row, Sqlite};
use std::borrow::Cow;
use std::fmt::Write;
use uuid::Uuid;

/// So many rows a SQLite statement holds at most: 256 of 13 columns stay far below its limit of 32,766 values.
const SQLITE_ROWS_MAX: usize = 256;
/// Up to so many rows go in one statement, whose text is prepared for each number of rows; more go in statements of a
/// power of two of rows. A statement costs a way to the connection's thread and back, more than some rows do.
const SQLITE_ROWS_EXACT: usize = 48;

/// The rows that have one of these keys, in no order.
pub async fn find<R: Record>(
    session: &mut Session,
    site: SiteId,
    keys: &[Vec<Value<'_>>],
) -> Result<Vec<R>, StoreError> {
    let key = &R::TABLE.columns[..R::TABLE.key];
    let same: Vec<_> = key
        .iter()
        .map(|(name, _)| format!("stored.{name} = wanted.{name}"))
        .collect();
    join(
        session,
        site,
        key,
        keys,
        &format!("{} LIMIT 1", same.join(" AND ")),
    )
    .await
}

/// For each row of `wanted` the stored rows that meet `condition`, which is SQL over `stored` and `wanted`.
pub async fn join<R: Record>(
    session: &mut Session,
    site: SiteId,
    wanted: &[(&str, Kind)],
    rows: &[Vec<Value<'_>>],
    condition: &str,
) -> Result<Vec<R>, StoreError> {
    if rows.is_empty() {
        return Ok(Vec::new());
    }
    let table = R::TABLE;
    let (names, name) = (table.names("stored."), table.name);
    let asked = wanted
        .iter()
        .map(|(name, _)| *name)
        .collect::<Vec<_>>()
        .join(", ");
    match session.connection() {
        Connection::Postgres(connection) => {
            // A subquery for each wanted row: the planner looks into the index, whatever its statistics say.
            let sql = format!(
                "SELECT found.* FROM unnest({}) AS wanted({asked}) CROSS JOIN LATERAL \
                 (SELECT {names} FROM {name} AS stored WHERE stored.site_id = $1 AND {condition}) AS found",
                arrays(wanted, 2),
            );
            let mut query = sqlx::query(AssertSqlSafe(sql)).bind(site.0);
            for (column, (_, kind)) in wanted.iter().enumerate() {
                query = bind_array(query, rows, column, *kind);
            }
            query
                .fetch_all(connection)
                .await?
                .iter()
                .map(read_postgres::<R>)
                .collect()
        }
        Connection::Sqlite(connection) => {
            let mut found = Vec::new();
            // In SQLite a CROSS JOIN keeps the order in which the tables are written; keys are unique anyway.
            let condition = condition.trim_end_matches(" LIMIT 1");
            for chunk in chunks(rows) {
                let rest = format!(
                    "SELECT {names} FROM wanted CROSS JOIN {name} AS stored \
                     ON stored.site_id = $1 AND {condition}"
                );
                let query = query_wanted(&asked, chunk, site, &rest);
                for row in query.fetch_all(&mut *connection).await? {
                    found.push(read_sqlite::<R>(&row)?);
                }
            }
            Ok(found)
        }
    }
}

/// The rows of a site that `condition` (SQL from `AND` on, its values numbered from 2) picks, in the order of the key.
pub async fn select<R: Record>(
    session: &mut Session,
    site: SiteId,
    condition: &str,
    values: &[Value<'_>],
) -> Result<Vec<R>, StoreError> {
    let table = R::TABLE;
    let order: Vec<_> = table.columns[..table.key].iter().map(|(name, _)| *name).collect();
    select_in_order(session, site, condition, &order.join(", "), values).await
}

/// As [`select`], in this order; a limit may follow it.
pub async fn select_in_order<R: Record>(
    session: &mut Session,
    site: SiteId,
    condition: &str,
    order: &str,
    values: &[Value<'_>],
) -> Result<Vec<R>, StoreError> {
    let table = R::TABLE;
    let sql = format!(
        "SELECT {} FROM {} AS stored WHERE stored.site_id = $1 {condition} ORDER BY {order}",
        table.names("stored."),
        table.name,
    );
    match session.connection() {
        Connection::Postgres(connection) => {
            let query = values
                .iter()
                .fold(sqlx::query(AssertSqlSafe(sql)).bind(site.0), bind);
            query
                .fetch_all(connection)
                .await?
                .iter()
                .map(read_postgres::<R>)
                .collect()
        }
        Connection::Sqlite(connection) => {
            let query = values
                .iter()
                .fold(sqlx::query(AssertSqlSafe(sql)).bind(site.0), bind);
            query
                .fetch_all(connection)
                .await?
                .iter()
                .map(read_sqlite::<R>)
                .collect()
        }
    }
}

/// The greatest value of a column, for each first value of `wanted`.
pub struct Greatest {
    pub table: &'static str,
    pub column: &'static str,
}

impl Greatest {
    /// As [`join`], but of all the rows that belong to a first value, which is a UUID, only that one number. A value
    /// can come up several times; where nothing is stored it does not.
    pub async fn join(
        &self,
        session: &mut Session,
        site: SiteId,
        wanted: &[(&str, Kind)],
        rows: &[Vec<Value<'_>>],
        condition: &str,
    ) -> Result<Vec<(Uuid, i64)>, StoreError> {
        let (Some((first, _)), false) = (wanted.first(), rows.is_empty()) else {
            return Ok(Vec::new());
        };
        let Self { table, column } = self;
        let asked: Vec<_> = wanted.iter().map(|(name, _)| *name).collect();
        let asked = asked.join(", ");
        match session.connection() {
            Connection::Postgres(connection) => {
                let sql = format!(
                    "SELECT wanted.{first}, found.greatest FROM unnest({}) AS wanted({asked}) CROSS JOIN LATERAL \
                     (SELECT MAX(stored.{column}) AS greatest FROM {table} AS stored \
                     WHERE stored.site_id = $1 AND {condition}) AS found WHERE found.greatest IS NOT NULL",
                    arrays(wanted, 2),
                );
                let mut query = sqlx::query(AssertSqlSafe(sql)).bind(site.0);
                for (place, (_, kind)) in wanted.iter().enumerate() {
                    query = bind_array(query, rows, place, *kind);
                }
                let found = query.fetch_all(connection).await?;
                found
                    .iter()
                    .map(|row| Ok((row.try_get(0)?, row.try_get(1)?)))
                    .collect()
            }
            Connection::Sqlite(connection) => {
                let mut all = Vec::new();
                for chunk in chunks(rows) {
                    let rest = format!(
                        "SELECT wanted.{first}, MAX(stored.{column}) FROM wanted CROSS JOIN {table} AS stored \
                         ON stored.site_id = $1 AND {condition} GROUP BY wanted.{first}"
                    );
                    let query = query_wanted(&asked, chunk, site, &rest);
                    for row in query.fetch_all(&mut *connection).await? {
                        all.push((row.try_get(0)?, row.try_get(1)?));
                    }
                }
                Ok(all)
            }
        }
    }
}

impl Table {
    /// The columns as they are selected. Every integer is read as 64 bits, whatever its column's width.
    fn names(&self, of: &str) -> String {
        let one = |(name, kind): &(&str, Kind)| match kind {
            Kind::Int if !of.is_empty() => format!("CAST({of}{name} AS bigint) AS {name}"),
            _ => format!("{of}{name}"),
        };
        self.columns.iter().map(one).collect::<Vec<_>>().join(", ")
    }
}

fn arrays(columns: &[(&str, Kind)], first: usize) -> String {
    let one = |(index, (_, kind)): (usize, &(&str, Kind))| {
        let kind = match kind {
            Kind::Uuid => "uuid",
            Kind::Int => "bigint",
            Kind::Text => "text",
            Kind::Bytes => "bytea",
        };
        format!("${}::{kind}[]", first + index)
    };
    columns.iter().enumerate().map(one).collect::<Vec<_>>().join(", ")
}

/// `(?, ?), (?, ?)`. Without numbers: the driver asks SQLite for the name of every place, and SQLite goes through all
/// names to find it, so that binding numbered places takes time by the square of their count.
fn write_places(sql: &mut String, rows: usize, columns: usize) {
    let row = format!("({})", vec!["?"; columns].join(", "));
    sql.push_str(&vec![row; rows].join(", "));
}

/// `rest` reads from the table `wanted`, which holds these rows; the site is `$1` in it.
fn query_wanted(asked: &str, rows: &[Vec<Value<'_>>], site: SiteId, rest: &str) -> Query<Sqlite> {
    let columns = rows.first().map_or(0, Vec::len);
    let mut sql = format!("WITH wanted({asked}) AS (VALUES ");
    write_places(&mut sql, rows.len(), columns);
    // The places of the rows have no numbers, so the site's must be the one behind theirs.
    let _ = write!(
        sql,
        ") {}",
        rest.replace("$1", &format!("${}", 1 + rows.len() * columns))
    );
    rows.iter()
        .flatten()
        .fold(sqlx::query(AssertSqlSafe(sql)), bind)
        .bind(site.0)
}

fn chunks<T>(mut rows: &[T]) -> impl Iterator<Item = &[T]> {
    std::iter::from_fn(move || {
        let size = match rows.len() {
            0 => return None,
            few @ ..=SQLITE_ROWS_EXACT => few,
            many => (1 << many.ilog2()).min(SQLITE_ROWS_MAX),
        };
        let (chunk, rest) = rows.split_at(size);
        rows = rest;
        Some(chunk)
    })
}

pub(crate) type Query<DB> = sqlx::query::Query<'static, DB, <DB as sqlx::Database>::Arguments>;

fn bind<DB>(query: Query<DB>, value: &Value<'_>) -> Query<DB>
where
    DB: sqlx::Database,
    Option<i64>: for<'q> sqlx::Encode<'q, DB> + sqlx::Type<DB>,
    i64: for<'q> sqlx::Encode<'q, DB> + sqlx::Type<DB>,
    Uuid: for<'q> sqlx::Encode<'q, DB> + sqlx::Type<DB>,
    for<'q> &'q str: sqlx::Encode<'q, DB> + sqlx::Type<DB>,
    for<'q> &'q [u8]: sqlx::Encode<'q, DB> + sqlx::Type<DB>,
{
    match value {
        Value::Uuid(uuid) => query.bind(*uuid),
        Value::Int(int) => query.bind(*int),
        Value::Text(text) => query.bind(text.as_ref()),
        Value::Bytes(bytes) => query.bind(bytes.as_ref()),
        Value::Null => query.bind(None::<i64>),
    }
}

fn bind_array(query: Query<Postgres>, rows: &[Vec<Value<'_>>], column: usize, kind: Kind) -> Query<Postgres> {
    macro_rules! of {
        ($variant:ident($value:ident) => $of:expr) => {
            rows.iter()
                .map(|row| match &row[column] {
                    Value::$variant($value) => Some($of),
                    _ => None,
                })
                .collect::<Vec<_>>()
        };
    }
    match kind {
        Kind::Uuid => query.bind(of!(Uuid(uuid) => *uuid)),
        Kind::Int => query.bind(of!(Int(int) => *int)),
        Kind::Text => query.bind(of!(Text(text) => text.as_ref())),
        Kind::Bytes => query.bind(of!(Bytes(bytes) => bytes.as_ref())),
    }
}

macro_rules! read {
    ($name:ident, $row:ty) => {
        fn $name<R: Record>(row: &$row) -> Result<R, StoreError> {
            let table = R::TABLE;
            let mut values = Vec::with_capacity(table.columns.len());
            for (column, (_, kind)) in table.columns.iter().enumerate() {
                let value = match kind {
                    Kind::Uuid => row.try_get::<Option<Uuid>, _>(column)?.map(Value::Uuid),
                    Kind::Int => row.try_get::<Option<i64>, _>(column)?.map(Value::Int),
                    Kind::Text => row
                        .try_get::<Option<String>, _>(column)?
                        .map(|text| Value::Text(Cow::Owned(text))),
                    Kind::Bytes => row
                        .try_get::<Option<Vec<u8>>, _>(column)?
                        .map(|bytes| Value::Bytes(Cow::Owned(bytes))),
                };
                values.push(value.unwrap_or(Value::Null));
            }
            R::from_values(Values::new(table.name, values))
        }
    };
}

read!(read_postgres, PgRow);
read!(read_sqlite, SqliteRow);
