//! The read tables: a picture of the ledger that queries and other programs read. They are written in the same
//! transaction as the entries that change them, and can be dropped and folded again at any time.

mod calendar;
mod cell;
mod machine;
mod plan;
mod principal;
mod stretch;
mod thing;

pub use calendar::{CalendarRow, remove_calendar};
pub use cell::CellRow;
pub use machine::MachineRow;
pub use plan::{PlanRow, plans_in_force, publish_plan};
pub use principal::PrincipalRow;
pub use stretch::{StretchRow, stretch_days, stretches_changed, stretches_for};
pub use thing::{ThingRow, newest_things, thing, things};

use crate::bulk::{self, Existing, Writes};
use crate::connection::{Session, Transaction, on_either};
use crate::error::StoreError;
use crate::record::Record;
use serde::Serialize;
use serde::de::DeserializeOwned;
use spindlebook_domain::ids::SiteId;
use sqlx::AssertSqlSafe;

/// A row of a read table.
pub trait ReadRow: Record + PartialEq + std::fmt::Debug {
    /// What the row is of, for a person who looks for it.
    fn name(&self) -> String;
}

/// All rows of the site in the order of their keys.
pub async fn all<R: ReadRow>(session: &mut Session, site: SiteId) -> Result<Vec<R>, StoreError> {
    bulk::select(session, site, "", &[]).await
}

/// Adds the rows or writes over those with the same key.
pub async fn put<R: ReadRow>(
    transaction: &mut Transaction,
    site: SiteId,
    rows: &[R],
) -> Result<(), StoreError> {
    bulk::write(transaction, site, Existing::Replace, rows).await
}

/// As [`put`], with the rest of a batch.
pub fn put_with<'a, R: ReadRow + 'a>(writes: &mut Writes<'a>, rows: &'a [R]) -> Result<(), StoreError> {
    writes.add(Existing::Replace, rows)
}

/// Drops all rows of the site.
pub async fn clear<R: ReadRow>(transaction: &mut Transaction, site: SiteId) -> Result<(), StoreError> {
    let sql = format!("DELETE FROM {} WHERE site_id = $1", R::TABLE.name);
    on_either!(transaction, |connection| sqlx::query(AssertSqlSafe(sql))
        .bind(site.0)
        .execute(connection)
        .await
        .map(drop))?;
    Ok(())
}

fn pack<T: Serialize>(value: &T) -> Result<Vec<u8>, StoreError> {
    postcard::to_stdvec(value).map_err(|error| StoreError::Failed(format!("cannot pack: {error}")))
}

fn unpack<T: DeserializeOwned>(table: &str, bytes: &[u8]) -> Result<T, StoreError> {
    postcard::from_bytes(bytes).map_err(|error| {
        StoreError::Unreadable(format!("table {table}: a packed column does not read: {error}"))
    })
}
