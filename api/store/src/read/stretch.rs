use super::{ReadRow, pack, unpack};
use crate::bulk;
use crate::connection::Session;
use crate::error::StoreError;
use crate::record::{Kind, Record, Table, Value, Values};
use spindlebook_domain::ids::{Seq, SiteId, Track};
use spindlebook_domain::stretches::{DayMarks, Layer, LayerDays, RowKey};
use std::collections::BTreeMap;

/// The marks of one track, layer and UTC day, or one part of them where they are many.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StretchRow {
    pub track: Track,
    pub layer: Layer,
    pub day: i64,
    pub part: i64,
    pub marks: DayMarks,
    pub changed_seq: Seq,
}

impl StretchRow {
    /// The rows of a day in which an entry after `after` stands.
    pub fn changed_after((track, layer, day): RowKey, marks: &DayMarks, after: Seq) -> Vec<Self> {
        let parts = marks.parts_after(after).into_iter();
        let row = |(part, marks): (i64, DayMarks)| Self {
            track,
            layer,
            day,
            part,
            changed_seq: marks.sources().last().map_or(0, |source| source.seq),
            marks,
        };
        parts.map(row).collect()
    }

    pub const fn key(&self) -> RowKey {
        (self.track, self.layer, self.day)
    }
}

/// The days with these keys; keys without a row are left out.
pub async fn stretch_days(
    session: &mut Session,
    site: SiteId,
    keys: impl IntoIterator<Item = &RowKey>,
) -> Result<Vec<(RowKey, DayMarks)>, StoreError> {
    const WANTED: [(&str, Kind); 3] = [("track_id", Kind::Uuid), ("layer", Kind::Int), ("day", Kind::Int)];
    const CONDITION: &str = "stored.track_id = wanted.track_id AND stored.layer = wanted.layer \
        AND stored.day = wanted.day";
    let row = |(track, layer, day): &RowKey| {
        vec![
            Value::Uuid(track.0),
            Value::Int(i64::from(layer.code())),
            Value::Int(*day),
        ]
    };
    let wanted: Vec<_> = keys.into_iter().map(row).collect();
    let mut found: Vec<StretchRow> = bulk::join(session, site, &WANTED, &wanted, CONDITION).await?;
    found.sort_by_key(|row| (row.key(), row.part));
    let mut parts = found.into_iter().peekable();
    let mut days = Vec::new();
    while let Some(key) = parts.peek().map(StretchRow::key) {
        let of_day = std::iter::from_fn(|| parts.next_if(|row| row.key() == key));
        days.extend(DayMarks::join(of_day.map(|row| row.marks)).map(|marks| (key, marks)));
    }
    Ok(days)
}

const WANTED: [(&str, Kind); 6] = [
    ("track_id", Kind::Uuid),
    ("layer", Kind::Int),
    ("first_day", Kind::Int),
    ("last_day", Kind::Int),
    ("last_before", Kind::Int),
    ("first_after", Kind::Int),
];

// There are no rows between an edge and the window, so the range from edge to edge holds no other rows.
const CONDITION: &str = "stored.track_id = wanted.track_id AND stored.layer = wanted.layer \
    AND stored.day >= COALESCE((SELECT MAX(edge.day) FROM stretch AS edge WHERE edge.site_id = $1 \
        AND edge.track_id = wanted.track_id AND edge.layer = wanted.layer AND wanted.last_before = 1 \
        AND edge.day < wanted.first_day), wanted.first_day) \
    AND stored.day <= COALESCE((SELECT MIN(edge.day) FROM stretch AS edge WHERE edge.site_id = $1 \
        AND edge.track_id = wanted.track_id AND edge.layer = wanted.layer AND wanted.first_after = 1 \
        AND edge.day > wanted.last_day), wanted.last_day)";

fn wanted(needs: &[(Track, LayerDays)]) -> Vec<Vec<Value<'static>>> {
    let row = |(track, need): &(Track, LayerDays)| {
        vec![
            Value::Uuid(track.0),
            Value::Int(i64::from(need.layer.code())),
            Value::Int(need.first_day),
            Value::Int(need.last_day),
            Value::Int(i64::from(need.last_before)),
            Value::Int(i64::from(need.first_after)),
        ]
    };
    needs.iter().map(row).collect()
}

/// The rows that a window's hours need, as [`spindlebook_domain::stretches::needs_of`] says, of each of these tracks.
pub async fn stretches_for(
    session: &mut Session,
    site: SiteId,
    needs: &[(Track, LayerDays)],
) -> Result<Vec<StretchRow>, StoreError> {
    let wanted = wanted(needs);
    let mut found: Vec<StretchRow> = bulk::join(session, site, &WANTED, &wanted, CONDITION).await?;
    found.sort_by_key(|row| (row.key(), row.part));
    Ok(found)
}

/// The newest entry in each track's rows of [`stretches_for`], without reading them. A track without rows is left out.
pub async fn stretches_changed(
    session: &mut Session,
    site: SiteId,
    needs: &[(Track, LayerDays)],
) -> Result<BTreeMap<Track, Seq>, StoreError> {
    let wanted = wanted(needs);
    let greatest = bulk::Greatest {
        table: StretchRow::TABLE.name,
        column: "changed_seq",
    };
    let found = greatest.join(session, site, &WANTED, &wanted, CONDITION).await?;
    let mut newest = BTreeMap::new();
    for (track, seq) in found {
        let known = newest.entry(Track(track)).or_insert(0);
        *known = seq.cast_unsigned().max(*known);
    }
    Ok(newest)
}

impl ReadRow for StretchRow {
    fn name(&self) -> String {
        format!(
            "stretch of track {}, layer {:?}, UTC day {}, part {}",
            self.track, self.layer, self.day, self.part
        )
    }
}

impl Record for StretchRow {
    const TABLE: Table = Table {
        name: "stretch",
        columns: &[
            ("track_id", Kind::Uuid),
            ("layer", Kind::Int),
            ("day", Kind::Int),
            ("part", Kind::Int),
            ("packed", Kind::Bytes),
            ("changed_seq", Kind::Int),
        ],
        key: 4,
    };

    fn values(&self) -> Result<Vec<Value<'_>>, StoreError> {
        Ok(vec![
            Value::Uuid(self.track.0),
            Value::Int(i64::from(self.layer.code())),
            Value::Int(self.day),
            Value::Int(self.part),
            Value::Bytes(pack(&self.marks)?.into()),
            Value::Int(self.changed_seq.cast_signed()),
        ])
    }

    fn from_values(mut values: Values) -> Result<Self, StoreError> {
        let track = Track(values.uuid()?);
        let code = values.int()?;
        let layer = u8::try_from(code)
            .ok()
            .and_then(Layer::from_code)
            .ok_or_else(|| {
                StoreError::Unreadable(format!("table stretch, track {track}: there is no layer {code}"))
            })?;
        let (day, part) = (values.int()?, values.int()?);
        let (packed, changed_seq) = (values.bytes()?, values.int()?.cast_unsigned());
        let marks: DayMarks = unpack(Self::TABLE.name, &packed)?;
        if marks.layer() != layer {
            let found = marks.layer();
            return Err(StoreError::Unreadable(format!(
                "table stretch, track {track}, day {day}: the row of layer {layer:?} holds {found:?}"
            )));
        }
        Ok(Self {
            track,
            layer,
            day,
            part,
            marks,
            changed_seq,
        })
    }
}
