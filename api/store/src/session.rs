//! Refresh tokens, by their hash. Each is good once; a family is what came of one signing in.

use crate::account;
use crate::connection::{Session, Transaction, on_either};
use crate::error::StoreError;
use spindlebook_domain::ids::{PrincipalId, SiteId};
use spindlebook_domain::time::Timestamp;
use uuid::Uuid;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RefreshToken {
    pub hash: [u8; 32],
    pub family: Uuid,
    pub account: PrincipalId,
    pub site: SiteId,
    pub issued_at: Timestamp,
    pub expires_at: Timestamp,
}

/// What using a refresh token came to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Used {
    /// For the first time: whoever sent it gets the next one.
    Once(RefreshToken),
    /// A second time: it was copied. Its family is revoked.
    Again { family: Uuid, account: PrincipalId },
    /// Expired, revoked or never issued.
    NotValid,
}

const USE: &str = "UPDATE refresh_token SET used_at = $2 WHERE token_hash = $1 AND used_at IS NULL \
                   AND revoked_at IS NULL AND expires_at > $2";
const ONE: &str = "SELECT family, account_id, site_id, issued_at, expires_at, used_at, revoked_at \
                   FROM refresh_token WHERE token_hash = $1";
const ACCOUNT_OF_TOKEN: &str = "SELECT account_id FROM refresh_token WHERE token_hash = $1";
const ACCOUNT_OF_FAMILY: &str = "SELECT account_id FROM refresh_token WHERE family = $1 LIMIT 1";
const REVOKE_FAMILY: &str =
    "UPDATE refresh_token SET revoked_at = $2 WHERE family = $1 AND revoked_at IS NULL";
/// Of one account.
pub(crate) const REVOKE_ALL: &str = "UPDATE refresh_token SET revoked_at = $3 \
                                     WHERE site_id = $1 AND account_id = $2 AND revoked_at IS NULL";
const FAMILIES: &str = "SELECT DISTINCT family FROM refresh_token WHERE account_id = $1 AND issued_at >= $2";
const DROP_EXPIRED: &str = "DELETE FROM refresh_token WHERE expires_at < $1";

/// All that finds rows here, with the index that it must find them by: the table has a row for every refresh of months.
pub const LOOKUPS: [(&str, &str); 8] = [
    (USE, "refresh_token_pkey"),
    (ONE, "refresh_token_pkey"),
    (ACCOUNT_OF_TOKEN, "refresh_token_pkey"),
    (ACCOUNT_OF_FAMILY, "refresh_token_by_family"),
    (REVOKE_FAMILY, "refresh_token_by_family"),
    (REVOKE_ALL, "refresh_token_by_account"),
    (FAMILIES, "refresh_token_by_account"),
    (DROP_EXPIRED, "refresh_token_by_expiry"),
];

type Columns = (Uuid, Uuid, Uuid, i64, i64, Option<i64>, Option<i64>);

pub async fn insert(transaction: &mut Transaction, token: &RefreshToken) -> Result<(), StoreError> {
    const INSERT: &str = "INSERT INTO refresh_token (token_hash, family, account_id, site_id, issued_at, expires_at) \
                          VALUES ($1, $2, $3, $4, $5, $6)";
    on_either!(transaction, |connection| sqlx::query(INSERT)
        .bind(token.hash.as_slice())
        .bind(token.family)
        .bind(token.account.0)
        .bind(token.site.0)
        .bind(token.issued_at.us())
        .bind(token.expires_at.us())
        .execute(connection)
        .await
        .map(drop))?;
    Ok(())
}

/// Marks the token as used. The account is locked first: whoever ends its sessions meanwhile waits, and finds the token
/// that comes of this one.
pub async fn use_once(
    transaction: &mut Transaction,
    hash: &[u8; 32],
    now: Timestamp,
) -> Result<Used, StoreError> {
    if !lock_account_of(transaction, Which::Token(hash)).await? {
        return Ok(Used::NotValid);
    }
    let changed = on_either!(transaction, |connection| sqlx::query(USE)
        .bind(hash.as_slice())
        .bind(now.us())
        .execute(connection)
        .await
        .map(|done| done.rows_affected()))?;
    let row: Option<Columns> = on_either!(transaction, |connection| sqlx::query_as(ONE)
        .bind(hash.as_slice())
        .fetch_optional(connection)
        .await)?;
    let Some((family, account, site, issued_at, expires_at, used_at, revoked_at)) = row else {
        return Ok(Used::NotValid);
    };
    let account = PrincipalId(account);
    if changed == 1 {
        return Ok(Used::Once(RefreshToken {
            hash: *hash,
            family,
            account,
            site: SiteId(site),
            issued_at: Timestamp(issued_at),
            expires_at: Timestamp(expires_at),
        }));
    }
    if used_at.is_some() && revoked_at.is_none() {
        revoke_family(transaction, family, now).await?;
        return Ok(Used::Again { family, account });
    }
    Ok(Used::NotValid)
}

pub async fn revoke_family(
    transaction: &mut Transaction,
    family: Uuid,
    at: Timestamp,
) -> Result<(), StoreError> {
    lock_account_of(transaction, Which::Family(family)).await?;
    on_either!(transaction, |connection| sqlx::query(REVOKE_FAMILY)
        .bind(family)
        .bind(at.us())
        .execute(connection)
        .await
        .map(drop))?;
    Ok(())
}

#[derive(Clone, Copy)]
enum Which<'a> {
    Token(&'a [u8; 32]),
    Family(Uuid),
}

/// Whether there is one. A token's account never changes, so it may be read before it is locked.
async fn lock_account_of(transaction: &mut Transaction, which: Which<'_>) -> Result<bool, StoreError> {
    let row: Option<(Uuid,)> = match which {
        Which::Token(hash) => on_either!(transaction, |connection| sqlx::query_as(ACCOUNT_OF_TOKEN)
            .bind(hash.as_slice())
            .fetch_optional(connection)
            .await)?,
        Which::Family(family) => on_either!(transaction, |connection| sqlx::query_as(ACCOUNT_OF_FAMILY)
            .bind(family)
            .fetch_optional(connection)
            .await)?,
    };
    let Some((account,)) = row else {
        return Ok(false);
    };
    Ok(account::lock(transaction, PrincipalId(account)).await?.is_some())
}

/// The families of an account that were begun or refreshed since then.
pub async fn families_since(
    session: &mut Session,
    account: PrincipalId,
    since: Timestamp,
) -> Result<Vec<Uuid>, StoreError> {
    let rows: Vec<(Uuid,)> = on_either!(session, |connection| sqlx::query_as(FAMILIES)
        .bind(account.0)
        .bind(since.us())
        .fetch_all(connection)
        .await)?;
    Ok(rows.into_iter().map(|(family,)| family).collect())
}

/// Drops what could not be used any more at `before`; tells how many.
pub async fn drop_expired(transaction: &mut Transaction, before: Timestamp) -> Result<u64, StoreError> {
    Ok(on_either!(transaction, |connection| sqlx::query(DROP_EXPIRED)
        .bind(before.us())
        .execute(connection)
        .await
        .map(|done| done.rows_affected()))?)
}
