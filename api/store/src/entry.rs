//! The ledger itself: entries are added and read, nothing else.

use crate::bulk::{self, Existing, Writes};
use crate::connection::{Session, on_either};
use crate::error::StoreError;
use crate::record::{Kind, Record, Table, Value, Values};
use spindlebook_domain::actor::Actor;
use spindlebook_domain::entry::{Entry, Envelope, Hash};
use spindlebook_domain::ids::{CommandId, Seq, SiteId};
use spindlebook_domain::time::Timestamp;
use std::borrow::Cow;
use uuid::Uuid;

type Columns = (
    i64,
    Uuid,
    Uuid,
    String,
    i32,
    i64,
    i64,
    String,
    Option<String>,
    Vec<u8>,
    Vec<u8>,
);

pub fn append<'a>(
    writes: &mut Writes<'a>,
    entries: impl IntoIterator<Item = &'a Entry>,
) -> Result<(), StoreError> {
    writes.add(Existing::Refuse, entries)
}

/// The entries that follow `after`, at most `limit` of them.
pub async fn after(
    session: &mut Session,
    site: SiteId,
    after: Seq,
    limit: u32,
) -> Result<Vec<Entry>, StoreError> {
    const SELECT: &str = "SELECT seq, id, command_id, kind, schema, occurred_at, recorded_at, actor, device, payload, \
                          hash FROM entry WHERE site_id = $1 AND seq > $2 ORDER BY seq LIMIT $3";
    let rows: Vec<Columns> = on_either!(session, |connection| sqlx::query_as(SELECT)
        .bind(site.0)
        .bind(after.cast_signed())
        .bind(i64::from(limit))
        .fetch_all(connection)
        .await)?;
    rows.into_iter().map(from_columns).collect()
}

/// The entries with these numbers, in their order; those that are not there are left out.
pub async fn at(session: &mut Session, site: SiteId, seqs: &[Seq]) -> Result<Vec<Entry>, StoreError> {
    let keys: Vec<_> = seqs
        .iter()
        .map(|seq| vec![Value::Int(seq.cast_signed())])
        .collect();
    let mut entries: Vec<Entry> = bulk::find(session, site, &keys).await?;
    entries.sort_by_key(|entry| entry.envelope.seq);
    entries.dedup_by_key(|entry| entry.envelope.seq);
    Ok(entries)
}

fn from_columns(row: Columns) -> Result<Entry, StoreError> {
    let (seq, id, command_id, kind, schema, occurred_at, recorded_at, actor, device, payload, hash) = row;
    let unreadable = |what: String| StoreError::Unreadable(format!("entry {seq}: {what}"));
    let hash =
        Hash::try_from(hash).map_err(|hash| unreadable(format!("its hash has {} bytes", hash.len())))?;
    let envelope = Envelope {
        seq: seq.cast_unsigned(),
        id,
        command_id: CommandId(command_id),
        kind,
        schema: u16::try_from(schema).map_err(|_| unreadable(format!("its schema is {schema}")))?,
        occurred_at: Timestamp(occurred_at),
        recorded_at: Timestamp(recorded_at),
        actor: actor_of(&actor).map_err(unreadable)?,
        device,
    };
    Ok(Entry {
        envelope,
        payload,
        hash,
    })
}

/// The text itself was hashed, so no other spelling of the same actor passes for it.
fn actor_of(text: &str) -> Result<Actor, String> {
    let actor: Actor = text.parse().map_err(|no_actor| format!("{no_actor}"))?;
    if actor.to_string() != text {
        return Err(format!(
            "its actor `{text}` is spelled in another way than it was written"
        ));
    }
    Ok(actor)
}

impl Record for Entry {
    const TABLE: Table = Table {
        name: "entry",
        columns: &[
            ("seq", Kind::Int),
            ("id", Kind::Uuid),
            ("command_id", Kind::Uuid),
            ("kind", Kind::Text),
            ("schema", Kind::Int),
            ("occurred_at", Kind::Int),
            ("recorded_at", Kind::Int),
            ("actor", Kind::Text),
            ("device", Kind::Text),
            ("payload", Kind::Bytes),
            ("hash", Kind::Bytes),
        ],
        key: 1,
    };

    fn values(&self) -> Result<Vec<Value<'_>>, StoreError> {
        let envelope = &self.envelope;
        Ok(vec![
            Value::Int(envelope.seq.cast_signed()),
            Value::Uuid(envelope.id),
            Value::Uuid(envelope.command_id.0),
            Value::text(&envelope.kind),
            Value::Int(i64::from(envelope.schema)),
            Value::Int(envelope.occurred_at.us()),
            Value::Int(envelope.recorded_at.us()),
            Value::Text(Cow::Owned(envelope.actor.to_string())),
            Value::text_or_null(envelope.device.as_deref()),
            Value::bytes(&self.payload),
            Value::bytes(&self.hash),
        ])
    }

    fn from_values(mut values: Values) -> Result<Self, StoreError> {
        from_columns((
            values.int()?,
            values.uuid()?,
            values.uuid()?,
            values.text()?,
            i32::try_from(values.int()?).unwrap_or(-1),
            values.int()?,
            values.int()?,
            values.text()?,
            values.text_or_null()?,
            values.bytes()?,
            values.bytes()?,
        ))
    }
}
