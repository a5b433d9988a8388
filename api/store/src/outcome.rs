//! What was answered to each command, by (who sent it, its key).

use crate::bulk::{self, Existing, Writes};
use crate::connection::{Session, Transaction, on_either};
use crate::error::StoreError;
use crate::record::{Kind, Record, Table, Value, Values};
use spindlebook_domain::ids::{CommandId, Seq, SiteId};
use spindlebook_domain::time::Timestamp;

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Outcome {
    pub principal: String,
    pub key: CommandId,
    /// Of the request, so that a key is not used for another one.
    pub fingerprint: [u8; 32],
    pub status: u16,
    pub body: Vec<u8>,
    pub etag: Option<String>,
    pub location: Option<String>,
    /// The first and the last entry that it gave; none for a refusal.
    pub entries: Option<(Seq, Seq)>,
    pub given_at: Timestamp,
    /// From then on the key counts as one that was never used.
    pub kept_until: Timestamp,
}

pub fn insert<'a>(
    writes: &mut Writes<'a>,
    outcomes: impl IntoIterator<Item = &'a Outcome>,
) -> Result<(), StoreError> {
    writes.add(Existing::Refuse, outcomes)
}

/// Those of the (principal, key) pairs that were answered before, in no order.
pub async fn find<'a>(
    session: &mut Session,
    site: SiteId,
    keys: impl IntoIterator<Item = (&'a str, CommandId)>,
) -> Result<Vec<Outcome>, StoreError> {
    let keys: Vec<_> = keys
        .into_iter()
        .map(|(principal, key)| vec![Value::text(principal), Value::Uuid(key.0)])
        .collect();
    bulk::find(session, site, &keys).await
}

/// Removes outcomes whose time was over before `now`, of all sites, the oldest first and at most `rows_max` of them;
/// tells how many. Nothing but the answer to a repeated key is read from them: entries, rows and snapshots need none.
pub async fn forget(transaction: &mut Transaction, now: Timestamp, rows_max: u32) -> Result<u64, StoreError> {
    const DELETE: &str = "DELETE FROM outcome WHERE (site_id, principal, key) IN \
                          (SELECT site_id, principal, key FROM outcome WHERE kept_until < $1 \
                          ORDER BY kept_until LIMIT $2)";
    Ok(on_either!(transaction, |connection| sqlx::query(DELETE)
        .bind(now.us())
        .bind(i64::from(rows_max))
        .execute(connection)
        .await
        .map(|done| done.rows_affected()))?)
}

impl Record for Outcome {
    const TABLE: Table = Table {
        name: "outcome",
        columns: &[
            ("principal", Kind::Text),
            ("key", Kind::Uuid),
            ("fingerprint", Kind::Bytes),
            ("status", Kind::Int),
            ("body", Kind::Bytes),
            ("etag", Kind::Text),
            ("location", Kind::Text),
            ("first_seq", Kind::Int),
            ("last_seq", Kind::Int),
            ("given_at", Kind::Int),
            ("kept_until", Kind::Int),
        ],
        key: 2,
    };

    fn values(&self) -> Result<Vec<Value<'_>>, StoreError> {
        Ok(vec![
            Value::text(&self.principal),
            Value::Uuid(self.key.0),
            Value::bytes(&self.fingerprint),
            Value::Int(i64::from(self.status)),
            Value::bytes(&self.body),
            Value::text_or_null(self.etag.as_deref()),
            Value::text_or_null(self.location.as_deref()),
            Value::int_or_null(self.entries.map(|(first, _)| first.cast_signed())),
            Value::int_or_null(self.entries.map(|(_, last)| last.cast_signed())),
            Value::Int(self.given_at.us()),
            Value::Int(self.kept_until.us()),
        ])
    }

    fn from_values(mut values: Values) -> Result<Self, StoreError> {
        Ok(Self {
            principal: values.text()?,
            key: CommandId(values.uuid()?),
            fingerprint: values.bytes_of()?,
            status: u16::try_from(values.int()?)
                .map_err(|error| StoreError::Unreadable(format!("table outcome, status: {error}")))?,
            body: values.bytes()?,
            etag: values.text_or_null()?,
            location: values.text_or_null()?,
            entries: {
                let (first, last) = (values.int_or_null()?, values.int_or_null()?);
                first
                    .zip(last)
                    .map(|(first, last)| (first.cast_unsigned(), last.cast_unsigned()))
            },
            given_at: Timestamp(values.int()?),
            kept_until: Timestamp(values.int()?),
        })
    }
}
