//! Pictures of the folded state. A cache: every one can be deleted, and one that does not fit is passed over.

use crate::bulk::{self, Existing};
use crate::connection::{Session, Transaction, on_either};
use crate::error::StoreError;
use crate::record::{Kind, Record, Table, Value, Values};
use spindlebook_domain::ids::{Seq, SiteId};

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Snapshot {
    pub seq: Seq,
    /// Which code can read it.
    pub schema: String,
    pub body: Vec<u8>,
    /// Of the body. A snapshot is only used when it is.
    pub sha256: Vec<u8>,
}

/// The snapshots that code of this schema can read, the newest first, none after `until`.
pub async fn newest_first(
    session: &mut Session,
    site: SiteId,
    schema: &str,
    until: Seq,
) -> Result<Vec<Snapshot>, StoreError> {
    let condition = "AND stored.schema = $2 AND stored.seq <= $3";
    let values = [Value::text(schema), Value::Int(until.cast_signed())];
    let mut found: Vec<Snapshot> = bulk::select(session, site, condition, &values).await?;
    found.reverse();
    Ok(found)
}

/// Keeps the snapshot and, of the older ones, only the newest `others_kept`.
pub async fn put(
    transaction: &mut Transaction,
    site: SiteId,
    snapshot: &Snapshot,
    others_kept: u32,
) -> Result<(), StoreError> {
    const PRUNE: &str = "DELETE FROM snapshot WHERE site_id = $1 AND seq NOT IN \
                         (SELECT seq FROM snapshot WHERE site_id = $1 ORDER BY seq DESC LIMIT $2)";
    bulk::write(
        transaction,
        site,
        Existing::Replace,
        std::slice::from_ref(snapshot),
    )
    .await?;
    on_either!(transaction, |connection| sqlx::query(PRUNE)
        .bind(site.0)
        .bind(i64::from(others_kept) + 1)
        .execute(connection)
        .await
        .map(drop))?;
    Ok(())
}

impl Record for Snapshot {
    const TABLE: Table = Table {
        name: "snapshot",
        columns: &[
            ("seq", Kind::Int),
            ("schema", Kind::Text),
            ("body", Kind::Bytes),
            ("sha256", Kind::Bytes),
        ],
        key: 1,
    };

    fn values(&self) -> Result<Vec<Value<'_>>, StoreError> {
        Ok(vec![
            Value::Int(self.seq.cast_signed()),
            Value::text(&self.schema),
            Value::bytes(&self.body),
            Value::bytes(&self.sha256),
        ])
    }

    fn from_values(mut values: Values) -> Result<Self, StoreError> {
        Ok(Self {
            seq: values.int()?.cast_unsigned(),
            schema: values.text()?,
            body: values.bytes()?,
            sha256: values.bytes()?,
        })
    }
}
