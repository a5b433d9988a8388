use super::ReadRow;
use crate::bulk;
use crate::connection::Session;
use crate::error::StoreError;
use crate::record::{Kind, Record, Table, Value, Values};
use spindlebook_domain::ids::{Seq, SiteId};
use uuid::Uuid;

/// A pallet, a fixture, a part, a customer or a vendor as it is now; `body` is all of it as JSON.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ThingRow {
    pub id: Uuid,
    /// `pallet`, `fixture`, `part`, `customer`, `vendor`.
    pub kind: String,
    pub code: String,
    pub name: String,
    pub body: String,
    pub changed_seq: Seq,
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
