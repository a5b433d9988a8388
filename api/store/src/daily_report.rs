//! What was reported of a cell's day. A report is only ever added.

use crate::bulk::{self, Existing};
use crate::connection::{Session, Transaction};
use crate::error::StoreError;
use crate::record::{Kind, Record, Table, Value, Values};
use spindlebook_domain::ids::{CellId, Seq, SiteId};
use spindlebook_domain::time::Timestamp;

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DailyReport {
    pub cell: CellId,
    /// The date, as 2026-11-02.
    pub day: String,
    /// 1, 2, 3 …
    pub version: i64,
    /// The entry up to which the ledger was read.
    pub seq: Seq,
    pub computed_at: Timestamp,
    /// JSON.
    pub body: String,
}

/// All reports of the days `first ..= last` of a cell, by day and version.
pub async fn of_days(
    session: &mut Session,
    site: SiteId,
    cell: CellId,
    (first, last): (&str, &str),
) -> Result<Vec<DailyReport>, StoreError> {
    let condition = "AND stored.cell_id = $2 AND stored.day >= $3 AND stored.day <= $4";
    let values = [Value::Uuid(cell.0), Value::text(first), Value::text(last)];
    bulk::select(session, site, condition, &values).await
}

/// A version that is there already is a fault: another process has just reported the same day.
pub async fn add(
    transaction: &mut Transaction,
    site: SiteId,
    reports: &[DailyReport],
) -> Result<(), StoreError> {
    bulk::write(transaction, site, Existing::Refuse, reports).await
}

impl Record for DailyReport {
    const TABLE: Table = Table {
        name: "daily_report",
        columns: &[
            ("cell_id", Kind::Uuid),
            ("day", Kind::Text),
            ("version", Kind::Int),
            ("seq", Kind::Int),
            ("computed_at", Kind::Int),
            ("body", Kind::Text),
        ],
        key: 3,
    };

    fn values(&self) -> Result<Vec<Value<'_>>, StoreError> {
        Ok(vec![
            Value::Uuid(self.cell.0),
            Value::text(&self.day),
            Value::Int(self.version),
            Value::Int(self.seq.cast_signed()),
            Value::Int(self.computed_at.us()),
            Value::text(&self.body),
        ])
    }

    fn from_values(mut values: Values) -> Result<Self, StoreError> {
        Ok(Self {
            cell: CellId(values.uuid()?),
            day: values.text()?,
            version: values.int()?,
            seq: values.int()?.cast_unsigned(),
            computed_at: Timestamp(values.int()?),
            body: values.text()?,
        })
    }
}
