use super::ReadRow;
use crate::error::StoreError;
use crate::record::{Kind, Record, Table, Value, Values};
use spindlebook_domain::ids::{PrincipalId, Seq};

/// Who may do what; `roles` are separated by commas, `body` is all of it as JSON.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PrincipalRow {
    pub id: PrincipalId,
    pub kind: String,
    pub roles: String,
    pub body: String,
    pub changed_seq: Seq,
}

impl ReadRow for PrincipalRow {
    fn name(&self) -> String {
        format!("principal {}", self.id)
    }
}

impl Record for PrincipalRow {
    const TABLE: Table = Table {
        name: "principal",
        columns: &[
            ("id", Kind::Uuid),
            ("kind", Kind::Text),
            ("roles", Kind::Text),
            ("body", Kind::Text),
            ("changed_seq", Kind::Int),
        ],
        key: 1,
    };

    fn values(&self) -> Result<Vec<Value<'_>>, StoreError> {
        Ok(vec![
            Value::Uuid(self.id.0),
            Value::text(&self.kind),
            Value::text(&self.roles),
            Value::text(&self.body),
            Value::Int(self.changed_seq.cast_signed()),
        ])
    }

    fn from_values(mut values: Values) -> Result<Self, StoreError> {
        Ok(Self {
            id: PrincipalId(values.uuid()?),
            kind: values.text()?,
            roles: values.text()?,
            body: values.text()?,
            changed_seq: values.int()?.cast_unsigned(),
        })
    }
}
