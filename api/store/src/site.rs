//! Sites and the heads of their ledgers.

use crate::bulk::Writes;
use crate::connection::{Connection, Session, Transaction, on_either};
use crate::error::StoreError;
use spindlebook_domain::entry::{GENESIS, Hash};
use spindlebook_domain::ids::{Seq, SiteId};
use spindlebook_domain::time::Timestamp;
use sqlx::{AssertSqlSafe, Row};
use uuid::Uuid;

/// The newest entry of a ledger, in short.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Head {
    pub seq: Seq,
    pub hash: Hash,
    pub recorded_at: Timestamp,
}

impl Head {
    /// Before the first entry.
    pub const START: Self = Self {
        seq: 0,
        hash: GENESIS,
        recorded_at: Timestamp(0),
    };
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SiteRow {
    pub id: SiteId,
    pub code: String,
    pub created_at: Timestamp,
    pub head: Head,
    /// Rises with every commit of a writer, also with one that stored refusals only; and by far more when the
    /// rows of the read tables are written anew.
    pub turn: i64,
}

/// More commits than a ledger ever sees.
const PER_REBUILD: i64 = 1 << 40;

/// How often the rows of the read tables had been written anew at this turn.
pub const fn rebuilds_at(turn: i64) -> i64 {
    turn / PER_REBUILD
}

type Columns = (Uuid, String, i64, i64, Vec<u8>, i64, i64);

const SELECT: &str =
    "SELECT id, code, created_at, head_seq, head_hash, head_recorded_at, turn FROM site ORDER BY code";
const SELECT_ONE: &str =
    "SELECT id, code, created_at, head_seq, head_hash, head_recorded_at, turn FROM site WHERE id = $1";
const LOCK_ONE: &str = "SELECT id, code, created_at, head_seq, head_hash, head_recorded_at, turn FROM site WHERE id = $1 FOR UPDATE";

/// All sites by their codes.
pub async fn all(session: &mut Session) -> Result<Vec<SiteRow>, StoreError> {
    let rows: Vec<Columns> = on_either!(session, |connection| sqlx::query_as(SELECT)
        .fetch_all(connection)
        .await)?;
    rows.into_iter().map(SiteRow::from_columns).collect()
}

pub async fn one(session: &mut Session, id: SiteId) -> Result<Option<SiteRow>, StoreError> {
    let row: Option<Columns> = on_either!(session, |connection| sqlx::query_as(SELECT_ONE)
        .bind(id.0)
        .fetch_optional(connection)
        .await)?;
    row.map(SiteRow::from_columns).transpose()
}

/// Reads the site and keeps every other writer of it waiting until the transaction ends. On SQLite the transaction
/// itself does that.
pub async fn lock(transaction: &mut Transaction, id: SiteId) -> Result<Option<SiteRow>, StoreError> {
    let row: Option<Columns> = match transaction.connection() {
        Connection::Postgres(connection) => {
            sqlx::query_as(LOCK_ONE)
                .bind(id.0)
                .fetch_optional(connection)
                .await?
        }
        Connection::Sqlite(connection) => {
            sqlx::query_as(SELECT_ONE)
                .bind(id.0)
                .fetch_optional(connection)
                .await?
        }
    };
    row.map(SiteRow::from_columns).transpose()
}

/// A site whose ledger has no entry yet.
pub async fn insert(
    transaction: &mut Transaction,
    id: SiteId,
    code: &str,
    created_at: Timestamp,
) -> Result<SiteRow, StoreError> {
    const INSERT: &str = "INSERT INTO site (id, code, created_at, head_seq, head_hash, head_recorded_at, turn) \
                          VALUES ($1, $2, $3, $4, $5, $6, 0)";
    let head = Head::START;
    on_either!(transaction, |connection| sqlx::query(INSERT)
        .bind(id.0)
        .bind(code)
        .bind(created_at.us())
        .bind(head.seq.cast_signed())
        .bind(head.hash.as_slice())
        .bind(head.recorded_at.us())
        .execute(connection)
        .await
        .map(drop))?;
    Ok(SiteRow {
        id,
        code: code.to_owned(),
        created_at,
        head,
        turn: 0,
    })
}

/// Writes the rows and moves the head on from `was`. Says no when `was` is not the head any more: then nothing may be
/// committed.
pub async fn advance(
    transaction: &mut Transaction,
    was: &SiteRow,
    head: &Head,
    writes: &Writes<'_>,
) -> Result<bool, StoreError> {
    const UPDATE: &str = "UPDATE site SET head_seq = $2, head_hash = $3, head_recorded_at = $4, turn = turn + 1 \
                          WHERE id = $1 AND head_seq = $5 AND turn = $6";
    macro_rules! update {
        ($sql:expr) => {
            sqlx::query($sql)
                .bind(was.id.0)
                .bind(head.seq.cast_signed())
                .bind(head.hash.as_slice())
                .bind(head.recorded_at.us())
                .bind(was.head.seq.cast_signed())
                .bind(was.turn)
        };
    }
    let changed = match transaction.connection() {
        Connection::Postgres(connection) => {
            let query = update!(AssertSqlSafe(writes.before_postgres(UPDATE, 7)));
            let done = writes.bind_postgres(query).execute(connection).await?;
            done.rows_affected()
        }
        Connection::Sqlite(connection) => {
            writes.to_sqlite(connection, was.id).await?;
            update!(UPDATE).execute(connection).await?.rows_affected()
        }
    };
    Ok(changed == 1)
}

/// As [`advance`], in one statement that is a transaction of its own, without the site being locked before: it writes
/// only if `was` is the head still, and then nobody has written since `was` was read. A failure may leave open whether it
/// stands, as that of a COMMIT. SQLite has nothing to gain from it, and says no.
pub async fn advance_at_once(
    session: &mut Session,
    id: SiteId,
    (was, turn): (&Head, i64),
    head: &Head,
    writes: &Writes<'_>,
) -> Result<bool, StoreError> {
    const UPDATE: &str = "UPDATE site SET head_seq = $2, head_hash = $3, head_recorded_at = $4, turn = turn + 1 \
                          WHERE id = $1 AND head_seq = $5 AND turn = $6 AND head_hash = $7 RETURNING 1";
    let Connection::Postgres(connection) = session.connection() else {
        return Ok(false);
    };
    let query = sqlx::query(AssertSqlSafe(writes.after_postgres("moved", UPDATE, 8)))
        .bind(id.0)
        .bind(head.seq.cast_signed())
        .bind(head.hash.as_slice())
        .bind(head.recorded_at.us())
        .bind(was.seq.cast_signed())
        .bind(turn)
        .bind(was.hash.as_slice());
    let moved: i64 = writes
        .bind_postgres(query)
        .fetch_one(connection)
        .await?
        .try_get(0)?;
    Ok(moved == 1)
}

/// Tells whoever keeps something that was read from the read tables to read it again.
pub async fn note_rebuild(transaction: &mut Transaction, site: SiteId) -> Result<(), StoreError> {
    const UPDATE: &str = "UPDATE site SET turn = turn + $2 WHERE id = $1";
    on_either!(transaction, |connection| sqlx::query(UPDATE)
        .bind(site.0)
        .bind(PER_REBUILD)
        .execute(connection)
        .await
        .map(drop))?;
    Ok(())
}

impl SiteRow {
    fn from_columns(
        (id, code, created_at, seq, hash, recorded_at, turn): Columns,
    ) -> Result<Self, StoreError> {
        let hash = Hash::try_from(hash).map_err(|hash| {
            StoreError::Unreadable(format!("site {code}: head_hash has {} bytes", hash.len()))
        })?;
        let head = Head {
            seq: seq.cast_unsigned(),
            hash,
            recorded_at: Timestamp(recorded_at),
        };
        Ok(Self {
            id: SiteId(id),
            code,
            created_at: Timestamp(created_at),
            head,
            turn,
        })
    }
}
