use super::ReadRow;
use crate::bulk;
use crate::connection::Session;
use crate::error::StoreError;
use crate::record::{Kind, Record, Table, Value, Values};
use spindlebook_domain::ids::{Seq, SiteId};
use uuid::Uuid;

/// A pallet, a fixture, a part, a customer, a vendor, an order or a job as it is now; `body` is all of it as JSON.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ThingRow {
    pub id: Uuid,
    /// `pallet`, `fixture`, `part`, `customer`, `vendor`, `order`, `job`; `closed_order`, `closed_job`: nothing happens to it any more.
    pub kind: String,
    /// Of a job, the revision.
    pub code: String,
    /// Of an order, its reference; of a job, the id of its part.
    pub name: String,
    pub body: String,
    pub changed_seq: Seq,
}

/// Things of one kind with these ids; others are left out.
pub async fn things(
    session: &mut Session,
    site: SiteId,
    kind: &str,
    ids: &[Uuid],
) -> Result<Vec<ThingRow>, StoreError> {
    let keys: Vec<_> = ids.iter().map(|id| vec![Value::Uuid(*id)]).collect();
    let mut rows: Vec<ThingRow> = bulk::find(session, site, &keys).await?;
    rows.retain(|row| row.kind == kind);
    Ok(rows)
}

/// At most so many things of one kind, the last changed first, from behind the one with this seq and id on. `named`:
/// only those with this name.
pub async fn newest_things(
    session: &mut Session,
    site: SiteId,
    kind: &str,
    named: Option<&str>,
    behind: Option<(Seq, Uuid)>,
    limit: usize,
) -> Result<Vec<ThingRow>, StoreError> {
    let (seq, id) = behind.map_or((i64::MAX, Uuid::max()), |(seq, id)| (seq.cast_signed(), id));
    let mut values = vec![Value::text(kind), Value::Int(seq), Value::Uuid(id)];
    let mut condition = "AND stored.kind = $2 AND (stored.changed_seq, stored.id) < ($3, $4)".to_owned();
    if let Some(named) = named {
        values.push(Value::text(named));
        condition.push_str(" AND stored.name = $5");
    }
    let order = format!("stored.changed_seq DESC, stored.id DESC LIMIT {limit}");
    bulk::select_in_order(session, site, &condition, &order, &values).await
}

impl ReadRow for ThingRow {
    fn name(&self) -> String {
        format!("{} {}", self.kind, self.id)
    }
}

impl Record for ThingRow {
    const TABLE: Table = Table {
        name: "thing",
        columns: &[
            ("id", Kind::Uuid),
            ("kind", Kind::Text),
            ("code", Kind::Text),
            ("name", Kind::Text),
            ("body", Kind::Text),
            ("changed_seq", Kind::Int),
        ],
        key: 1,
    };

    fn values(&self) -> Result<Vec<Value<'_>>, StoreError> {
        Ok(vec![
            Value::Uuid(self.id),
            Value::text(&self.kind),
            Value::text(&self.code),
            Value::text(&self.name),
            Value::text(&self.body),
            Value::Int(self.changed_seq.cast_signed()),
        ])
    }

    fn from_values(mut values: Values) -> Result<Self, StoreError> {
        Ok(Self {
            id: values.uuid()?,
            kind: values.text()?,
            code: values.text()?,
            name: values.text()?,
            body: values.text()?,
            changed_seq: values.int()?.cast_unsigned(),
        })
    }
}

/// One of them, whatever its kind.
pub async fn thing(session: &mut Session, site: SiteId, id: Uuid) -> Result<Option<ThingRow>, StoreError> {
    let found = bulk::find(session, site, &[vec![Value::Uuid(id)]]).await?;
    Ok(found.into_iter().next())
}
