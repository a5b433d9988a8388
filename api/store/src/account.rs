//! Whoever can sign in: names and secrets, read. They are written by the writer, beside the entries that they
//! belong to ([`crate::private::change_account`]).

use crate::connection::{Connection, Session, Transaction, on_either};
use crate::error::StoreError;
use spindlebook_domain::access::PrincipalKind;
use spindlebook_domain::ids::{PrincipalId, SiteId};
use spindlebook_domain::time::Timestamp;
use std::fmt;
use uuid::Uuid;

#[derive(Clone, PartialEq, Eq)]
pub struct AccountRow {
    pub id: PrincipalId,
    pub site: SiteId,
    pub kind: PrincipalKind,
    pub login: String,
    /// `None`: it was forgotten.
    pub display_name: Option<String>,
    pub secret_hash: Option<String>,
    pub forgotten_at: Option<Timestamp>,
}

impl fmt::Debug for AccountRow {
    /// Without anything that identifies a person or lets one in.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("AccountRow")
            .field("id", &self.id)
            .field("kind", &self.kind)
            .finish_non_exhaustive()
    }
}

type Columns = (
    Uuid,
    Uuid,
    String,
    String,
    Option<String>,
    Option<String>,
    Option<i64>,
);

/// `login` as it is kept: in small letters.
pub async fn by_login(
    session: &mut Session,
    site: SiteId,
    login: &str,
) -> Result<Option<AccountRow>, StoreError> {
    const SELECT: &str = "SELECT id, site_id, kind, login, display_name, secret_hash, forgotten_at FROM account \
                          WHERE site_id = $1 AND login = $2";
    let row: Option<Columns> = on_either!(session, |connection| sqlx::query_as(SELECT)
        .bind(site.0)
        .bind(login)
        .fetch_optional(connection)
        .await)?;
    row.map(AccountRow::from_columns).transpose()
}

/// At whichever site it is.
pub async fn by_id(session: &mut Session, id: PrincipalId) -> Result<Option<AccountRow>, StoreError> {
    const SELECT: &str = "SELECT id, site_id, kind, login, display_name, secret_hash, forgotten_at FROM account \
                          WHERE id = $1";
    let row: Option<Columns> = on_either!(session, |connection| sqlx::query_as(SELECT)
        .bind(id.0)
        .fetch_optional(connection)
        .await)?;
    row.map(AccountRow::from_columns).transpose()
}

/// As it is, and so it stays until the transaction ends: whoever begins, goes on with or ends a session of an account
/// locks it first. On SQLite a transaction that writes is alone as it is.
pub async fn lock(transaction: &mut Transaction, id: PrincipalId) -> Result<Option<AccountRow>, StoreError> {
    const SELECT: &str = "SELECT id, site_id, kind, login, display_name, secret_hash, forgotten_at FROM account \
                          WHERE id = $1";
    const SELECT_LOCKED: &str = "SELECT id, site_id, kind, login, display_name, secret_hash, forgotten_at \
                                 FROM account WHERE id = $1 FOR UPDATE";
    let row: Option<Columns> = match transaction.connection() {
        Connection::Postgres(connection) => {
            sqlx::query_as(SELECT_LOCKED)
                .bind(id.0)
                .fetch_optional(connection)
                .await?
        }
        Connection::Sqlite(connection) => {
            sqlx::query_as(SELECT)
                .bind(id.0)
                .fetch_optional(connection)
                .await?
        }
    };
    row.map(AccountRow::from_columns).transpose()
}

/// All of a site and kind, in the order of their ids. A site has dozens.
pub async fn all(
    session: &mut Session,
    site: SiteId,
    kind: PrincipalKind,
) -> Result<Vec<AccountRow>, StoreError> {
    const SELECT: &str = "SELECT id, site_id, kind, login, display_name, secret_hash, forgotten_at FROM account \
                          WHERE site_id = $1 AND kind = $2 ORDER BY id";
    let rows: Vec<Columns> = on_either!(session, |connection| sqlx::query_as(SELECT)
        .bind(site.0)
        .bind(match kind {
            PrincipalKind::Person => "person",
            PrincipalKind::Client => "client",
        })
        .fetch_all(connection)
        .await)?;
    rows.into_iter().map(AccountRow::from_columns).collect()
}

impl AccountRow {
    fn from_columns(
        (id, site, kind, login, display_name, secret_hash, forgotten_at): Columns,
    ) -> Result<Self, StoreError> {
        let kind = match kind.as_str() {
            "person" => PrincipalKind::Person,
            "client" => PrincipalKind::Client,
            other => {
                return Err(StoreError::Unreadable(format!(
                    "account {id}: unknown kind `{other}`"
                )));
            }
        };
        Ok(Self {
            id: PrincipalId(id),
            site: SiteId(site),
            kind,
            login,
            display_name,
            secret_hash,
            forgotten_at: forgotten_at.map(Timestamp),
        })
    }
}
