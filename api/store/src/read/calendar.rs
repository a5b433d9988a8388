use super::ReadRow;
use crate::connection::{Transaction, on_either};
use crate::error::StoreError;
use crate::record::{Kind, Record, Table, Value, Values};
use spindlebook_domain::ids::{Seq, SiteId};
use uuid::Uuid;

/// The calendar of the site (by the site's id) or of a cell that works other hours (by the cell's).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CalendarRow {
    pub id: Uuid,
    pub body: String,
    pub changed_seq: Seq,
}

impl ReadRow for CalendarRow {
    fn name(&self) -> String {
        format!("calendar {}", self.id)
    }
}

impl Record for CalendarRow {
    const TABLE: Table = Table {
        name: "calendar",
        columns: &[
            ("id", Kind::Uuid),
            ("body", Kind::Text),
            ("changed_seq", Kind::Int),
        ],
        key: 1,
    };

    fn values(&self) -> Result<Vec<Value<'_>>, StoreError> {
        Ok(vec![
            Value::Uuid(self.id),
            Value::text(&self.body),
            Value::Int(self.changed_seq.cast_signed()),
        ])
    }

    fn from_values(mut values: Values) -> Result<Self, StoreError> {
        Ok(Self {
            id: values.uuid()?,
            body: values.text()?,
            changed_seq: values.int()?.cast_unsigned(),
        })
    }
}

/// The cell works by the site's calendar again.
pub async fn remove_calendar(
    transaction: &mut Transaction,
    site: SiteId,
    id: Uuid,
) -> Result<(), StoreError> {
    const DELETE: &str = "DELETE FROM calendar WHERE site_id = $1 AND id = $2";
    on_either!(transaction, |connection| sqlx::query(DELETE)
        .bind(site.0)
        .bind(id)
        .execute(connection)
        .await
        .map(drop))?;
    Ok(())
}
