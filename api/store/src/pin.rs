//! PINs for tablets, and how often somebody was wrong. No picture of the ledger: that says only that a PIN was set.

use crate::account;
use crate::connection::{Session, Transaction, on_either};
use crate::error::StoreError;
use spindlebook_domain::ids::{PrincipalId, SiteId};
use spindlebook_domain::time::Timestamp;
use std::fmt;
use uuid::Uuid;

#[derive(Clone, PartialEq, Eq)]
pub struct PinRow {
    pub person: PrincipalId,
    pub hash: String,
    pub set_at: Timestamp,
    /// Wrong ones since the last right one.
    pub wrong: u32,
    /// Until then the next one is not looked at.
    pub wait_until: Option<Timestamp>,
}

impl fmt::Debug for PinRow {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("PinRow")
            .field("person", &self.person)
            .finish_non_exhaustive()
    }
}

type Columns = (Uuid, String, i64, i64, Option<i64>);

/// As it is, and so it stays until the transaction ends: two who try at once are counted twice.
pub async fn lock(
    transaction: &mut Transaction,
    site: SiteId,
    person: PrincipalId,
) -> Result<Option<PinRow>, StoreError> {
    const SELECT: &str = "SELECT account_id, secret_hash, set_at, wrong, wait_until FROM pin \
                          WHERE site_id = $1 AND account_id = $2";
    account::lock(transaction, person).await?;
    let row: Option<Columns> = on_either!(transaction, |connection| sqlx::query_as(SELECT)
        .bind(site.0)
        .bind(person.0)
        .fetch_optional(connection)
        .await)?;
    Ok(row.map(PinRow::from_columns))
}

/// All of a site: dozens.
pub async fn all(session: &mut Session, site: SiteId) -> Result<Vec<PinRow>, StoreError> {
    const SELECT: &str = "SELECT account_id, secret_hash, set_at, wrong, wait_until FROM pin \
                          WHERE site_id = $1 ORDER BY account_id";
    let rows: Vec<Columns> = on_either!(session, |connection| sqlx::query_as(SELECT)
        .bind(site.0)
        .fetch_all(connection)
        .await)?;
    Ok(rows.into_iter().map(PinRow::from_columns).collect())
}

pub async fn count_wrong(
    transaction: &mut Transaction,
    person: PrincipalId,
    wrong: u32,
    wait_until: Option<Timestamp>,
) -> Result<(), StoreError> {
    const UPDATE: &str = "UPDATE pin SET wrong = $2, wait_until = $3 WHERE account_id = $1";
    on_either!(transaction, |connection| sqlx::query(UPDATE)
        .bind(person.0)
        .bind(i64::from(wrong))
        .bind(wait_until.map(Timestamp::us))
        .execute(connection)
        .await
        .map(drop))?;
    Ok(())
}

pub async fn forget_wrong(transaction: &mut Transaction, person: PrincipalId) -> Result<(), StoreError> {
    count_wrong(transaction, person, 0, None).await
}

pub(crate) async fn set(
    transaction: &mut Transaction,
    site: SiteId,
    person: PrincipalId,
    hash: &str,
    at: Timestamp,
) -> Result<(), StoreError> {
    const UPSERT: &str = "INSERT INTO pin (account_id, site_id, secret_hash, set_at, wrong) VALUES ($1, $2, $3, $4, 0) \
                          ON CONFLICT (account_id) DO UPDATE SET secret_hash = excluded.secret_hash, \
                          set_at = excluded.set_at, wrong = 0, wait_until = NULL";
    account::lock(transaction, person).await?;
    on_either!(transaction, |connection| sqlx::query(UPSERT)
        .bind(person.0)
        .bind(site.0)
        .bind(hash)
        .bind(at.us())
        .execute(connection)
        .await
        .map(drop))?;
    Ok(())
}

pub(crate) async fn remove(transaction: &mut Transaction, person: PrincipalId) -> Result<(), StoreError> {
    on_either!(transaction, |connection| sqlx::query(
        "DELETE FROM pin WHERE account_id = $1"
    )
    .bind(person.0)
    .execute(connection)
    .await
    .map(drop))?;
    Ok(())
}

impl PinRow {
    fn from_columns((person, hash, set_at, wrong, wait_until): Columns) -> Self {
        Self {
            person: PrincipalId(person),
            hash,
            set_at: Timestamp(set_at),
            wrong: u32::try_from(wrong).unwrap_or(u32::MAX),
            wait_until: wait_until.map(Timestamp),
        }
    }
}
