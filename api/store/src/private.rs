//! What the writer keeps beside the ledger because it can be forgotten: free texts, and the accounts of those who
//! sign in.

use crate::account;
use crate::bulk::{self, Existing};
use crate::connection::{Session, Transaction, on_either};
use crate::error::StoreError;
use crate::pin;
use crate::record::{Kind, Record, Table, Value, Values};
use crate::session::REVOKE_ALL;
use spindlebook_domain::access::PrincipalKind;
use spindlebook_domain::ids::{PrincipalId, SiteId, TextId};
use spindlebook_domain::time::Timestamp;
use std::fmt;

/// The column holds no null.
const FORGOTTEN_SALT: [u8; 16] = [0; 16];

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PrivateText {
    pub id: TextId,
    /// Zeros once the text was forgotten.
    pub salt: [u8; 16],
    /// `None`: it was forgotten.
    pub body: Option<String>,
    pub forgotten_at: Option<Timestamp>,
}

/// What a command does to an account when it is accepted.
#[derive(Clone, PartialEq, Eq)]
pub enum AccountChange {
    Add {
        id: PrincipalId,
        kind: PrincipalKind,
        login: String,
        display_name: Option<String>,
        secret_hash: Option<String>,
    },
    SetDisplayName {
        id: PrincipalId,
        display_name: String,
    },
    /// Its refresh tokens are revoked: whoever knew the old secret is out.
    SetSecret {
        id: PrincipalId,
        secret_hash: String,
        at: Timestamp,
    },
    /// Its refresh tokens are revoked.
    SignOut {
        id: PrincipalId,
        at: Timestamp,
    },
    /// Whatever was counted of wrong ones is forgotten.
    SetPin {
        id: PrincipalId,
        pin_hash: String,
        at: Timestamp,
    },
    UnlockPin {
        id: PrincipalId,
    },
    /// Login, name, secret and PIN are blanked, and its refresh tokens revoked.
    Forget {
        id: PrincipalId,
        at: Timestamp,
    },
}

impl fmt::Debug for AccountChange {
    /// Without names and secrets: it may get into a log.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (what, id) = match self {
            Self::Add { id, .. } => ("Add", id),
            Self::SetDisplayName { id, .. } => ("SetDisplayName", id),
            Self::SetSecret { id, .. } => ("SetSecret", id),
            Self::SignOut { id, .. } => ("SignOut", id),
            Self::SetPin { id, .. } => ("SetPin", id),
            Self::UnlockPin { id } => ("UnlockPin", id),
            Self::Forget { id, .. } => ("Forget", id),
        };
        f.debug_struct(what).field("id", id).finish_non_exhaustive()
    }
}

pub async fn insert_texts(
    transaction: &mut Transaction,
    site: SiteId,
    texts: &[PrivateText],
) -> Result<(), StoreError> {
    bulk::write(transaction, site, Existing::Refuse, texts).await
}

/// In no order; texts that are not there are left out.
pub async fn texts(
    session: &mut Session,
    site: SiteId,
    ids: &[TextId],
) -> Result<Vec<PrivateText>, StoreError> {
    let keys: Vec<_> = ids.iter().map(|id| vec![Value::Uuid(id.0)]).collect();
    bulk::find(session, site, &keys).await
}

/// The salt is blanked with the text: who has it can try likely texts against the hash. The entry that holds the hash
/// verifies without either. `false`: there is none, or it was forgotten before.
pub async fn forget_text(
    transaction: &mut Transaction,
    site: SiteId,
    id: TextId,
    at: Timestamp,
) -> Result<bool, StoreError> {
    const UPDATE: &str = "UPDATE private_text SET body = NULL, salt = $4, forgotten_at = $3 \
                          WHERE site_id = $1 AND id = $2 AND forgotten_at IS NULL";
    let changed = on_either!(transaction, |connection| sqlx::query(UPDATE)
        .bind(site.0)
        .bind(id.0)
        .bind(at.us())
        .bind(FORGOTTEN_SALT.as_slice())
        .execute(connection)
        .await
        .map(|done| done.rows_affected()))?;
    Ok(changed > 0)
}

pub async fn is_login_taken(session: &mut Session, site: SiteId, login: &str) -> Result<bool, StoreError> {
    const SELECT: &str = "SELECT COUNT(*) FROM account WHERE site_id = $1 AND login = $2";
    let (count,): (i64,) = on_either!(session, |connection| sqlx::query_as(SELECT)
        .bind(site.0)
        .bind(login)
        .fetch_one(connection)
        .await)?;
    Ok(count > 0)
}

pub async fn change_account(
    transaction: &mut Transaction,
    site: SiteId,
    change: &AccountChange,
) -> Result<(), StoreError> {
    match change {
        AccountChange::Add {
            id,
            kind,
            login,
            display_name,
            secret_hash,
        } => {
            const INSERT: &str = "INSERT INTO account (id, site_id, kind, login, display_name, secret_hash) \
                                  VALUES ($1, $2, $3, $4, $5, $6)";
            on_either!(transaction, |connection| sqlx::query(INSERT)
                .bind(id.0)
                .bind(site.0)
                .bind(match kind {
                    PrincipalKind::Person => "person",
                    PrincipalKind::Client => "client",
                })
                .bind(login.as_str())
                .bind(display_name.as_deref())
                .bind(secret_hash.as_deref())
                .execute(connection)
                .await
                .map(drop))?;
        }
        AccountChange::SetDisplayName { id, display_name } => {
            const UPDATE: &str = "UPDATE account SET display_name = $3 WHERE site_id = $1 AND id = $2";
            on_either!(transaction, |connection| sqlx::query(UPDATE)
                .bind(site.0)
                .bind(id.0)
                .bind(display_name.as_str())
                .execute(connection)
                .await
                .map(drop))?;
        }
        AccountChange::SetSecret { id, secret_hash, at } => {
            const UPDATE: &str = "UPDATE account SET secret_hash = $3 WHERE site_id = $1 AND id = $2";
            on_either!(transaction, |connection| sqlx::query(UPDATE)
                .bind(site.0)
                .bind(id.0)
                .bind(secret_hash.as_str())
                .execute(connection)
                .await
                .map(drop))?;
            revoke_tokens(transaction, site, *id, *at).await?;
        }
        AccountChange::SignOut { id, at } => revoke_tokens(transaction, site, *id, *at).await?,
        AccountChange::SetPin { id, pin_hash, at } => pin::set(transaction, site, *id, pin_hash, *at).await?,
        AccountChange::UnlockPin { id } => pin::forget_wrong(transaction, *id).await?,
        AccountChange::Forget { id, at } => {
            // The login must stay unique, so the opaque id takes its place.
            const UPDATE: &str = "UPDATE account SET login = $3, display_name = NULL, secret_hash = NULL, \
                                  forgotten_at = $4 WHERE site_id = $1 AND id = $2";
            pin::remove(transaction, *id).await?;
            on_either!(transaction, |connection| sqlx::query(UPDATE)
                .bind(site.0)
                .bind(id.0)
                .bind(id.to_string())
                .bind(at.us())
                .execute(connection)
                .await
                .map(drop))?;
            revoke_tokens(transaction, site, *id, *at).await?;
        }
    }
    Ok(())
}

/// A refresh under way holds the account: what it leaves is there to be revoked only once it is through.
async fn revoke_tokens(
    transaction: &mut Transaction,
    site: SiteId,
    account: PrincipalId,
    at: Timestamp,
) -> Result<(), StoreError> {
    account::lock(transaction, account).await?;
    on_either!(transaction, |connection| sqlx::query(REVOKE_ALL)
        .bind(site.0)
        .bind(account.0)
        .bind(at.us())
        .execute(connection)
        .await
        .map(drop))?;
    Ok(())
}

impl Record for PrivateText {
    const TABLE: Table = Table {
        name: "private_text",
        columns: &[
            ("id", Kind::Uuid),
            ("salt", Kind::Bytes),
            ("body", Kind::Text),
            ("forgotten_at", Kind::Int),
        ],
        key: 1,
    };

    fn values(&self) -> Result<Vec<Value<'_>>, StoreError> {
        Ok(vec![
            Value::Uuid(self.id.0),
            Value::bytes(&self.salt),
            Value::text_or_null(self.body.as_deref()),
            Value::int_or_null(self.forgotten_at.map(Timestamp::us)),
        ])
    }

    fn from_values(mut values: Values) -> Result<Self, StoreError> {
        Ok(Self {
            id: TextId(values.uuid()?),
            salt: values.bytes_of()?,
            body: values.text_or_null()?,
            forgotten_at: values.int_or_null()?.map(Timestamp),
        })
    }
}
