use super::ReadRow;
use crate::error::StoreError;
use crate::record::{Kind, Record, Table, Value, Values};
use spindlebook_domain::ids::{CellId, MachineId, Seq};

/// A machine as it is now; `body` is all of it as JSON.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MachineRow {
    pub id: MachineId,
    pub cell: CellId,
    pub code: String,
    pub name: String,
    pub body: String,
    pub changed_seq: Seq,
}

impl ReadRow for MachineRow {
    fn name(&self) -> String {
        format!("machine {}", self.id)
    }
}

impl Record for MachineRow {
    const TABLE: Table = Table {
        name: "machine",
        columns: &[
            ("id", Kind::Uuid),
            ("cell_id", Kind::Uuid),
            ("code", Kind::Text),
            ("name", Kind::Text),
            ("body", Kind::Text),
            ("changed_seq", Kind::Int),
        ],
        key: 1,
    };

    fn values(&self) -> Result<Vec<Value<'_>>, StoreError> {
        Ok(vec![
            Value::Uuid(self.id.0),
            Value::Uuid(self.cell.0),
            Value::text(&self.code),
            Value::text(&self.name),
            Value::text(&self.body),
            Value::Int(self.changed_seq.cast_signed()),
        ])
    }

    fn from_values(mut values: Values) -> Result<Self, StoreError> {
        Ok(Self {
            id: MachineId(values.uuid()?),
            cell: CellId(values.uuid()?),
            code: values.text()?,
            name: values.text()?,
            body: values.text()?,
            changed_seq: values.int()?.cast_unsigned(),
        })
    }
}
