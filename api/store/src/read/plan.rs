use super::{ReadRow, pack, unpack};
use crate::bulk;
use crate::connection::{Session, Transaction, on_either};
use crate::error::StoreError;
use crate::record::{Kind, Record, Table, Value, Values};
use spindlebook_domain::ids::{PlanId, Seq, SiteId};
use spindlebook_domain::plan::Slot;
use spindlebook_domain::time::{Timestamp, Window};

/// A posted plan with its slots.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlanRow {
    pub id: PlanId,
    pub posted_seq: Seq,
    /// When its publishing was recorded, and by which entry: from then on it is in force, until the next one is.
    pub published: Option<(Timestamp, Seq)>,
    pub slots: Vec<Slot>,
}

/// The published plans that were in force at any moment of the window, in the order of their publishing.
pub async fn plans_in_force(
    session: &mut Session,
    site: SiteId,
    window: Window,
) -> Result<Vec<PlanRow>, StoreError> {
    let condition = "AND stored.published_at < $3 AND stored.published_seq >= \
                     COALESCE((SELECT MAX(published_seq) FROM plan WHERE site_id = $1 AND published_at <= $2), 0)";
    let values = [Value::Int(window.from.us()), Value::Int(window.to.us())];
    let mut plans: Vec<PlanRow> = bulk::select(session, site, condition, &values).await?;
    plans.sort_by_key(|plan| plan.published);
    Ok(plans)
}

/// Puts the plan in force. Its slots, which may be thousands, are not written again.
pub async fn publish_plan(
    transaction: &mut Transaction,
    site: SiteId,
    id: PlanId,
    published: (Timestamp, Seq),
) -> Result<(), StoreError> {
    const UPDATE: &str =
        "UPDATE plan SET published_at = $3, published_seq = $4 WHERE site_id = $1 AND id = $2";
    on_either!(transaction, |connection| sqlx::query(UPDATE)
        .bind(site.0)
        .bind(id.0)
        .bind(published.0.us())
        .bind(published.1.cast_signed())
        .execute(connection)
        .await
        .map(drop))?;
    Ok(())
}

impl ReadRow for PlanRow {
    fn name(&self) -> String {
        format!("plan {}", self.id)
    }
}

impl Record for PlanRow {
    const TABLE: Table = Table {
        name: "plan",
        columns: &[
            ("id", Kind::Uuid),
            ("posted_seq", Kind::Int),
            ("published_at", Kind::Int),
            ("published_seq", Kind::Int),
            ("slots", Kind::Bytes),
        ],
        key: 1,
    };

    fn values(&self) -> Result<Vec<Value<'_>>, StoreError> {
        Ok(vec![
            Value::Uuid(self.id.0),
            Value::Int(self.posted_seq.cast_signed()),
            Value::int_or_null(self.published.map(|(at, _)| at.us())),
            Value::int_or_null(self.published.map(|(_, seq)| seq.cast_signed())),
            Value::Bytes(pack(&self.slots)?.into()),
        ])
    }

    fn from_values(mut values: Values) -> Result<Self, StoreError> {
        Ok(Self {
            id: PlanId(values.uuid()?),
            posted_seq: values.int()?.cast_unsigned(),
            published: {
                let (at, seq) = (values.int_or_null()?, values.int_or_null()?);
                if at.is_some() != seq.is_some() {
                    return Err(StoreError::Unreadable(
                        "table plan: a plan is half published".to_owned(),
                    ));
                }
                at.zip(seq).map(|(at, seq)| (Timestamp(at), seq.cast_unsigned()))
            },
            slots: unpack(Self::TABLE.name, &values.bytes()?)?,
        })
    }
}
