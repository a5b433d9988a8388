use crate::http::body;
use crate::http::text;
use crate::http::whole::Whole;
use crate::problem::{FieldError, Place, Problem};
use serde::{Deserialize, Serialize};
use spindlebook_domain::cell::{Cell, CellKind};
use spindlebook_domain::code::{Code, Name};
use spindlebook_domain::ids::{CellId, Seq};
use utoipa::ToSchema;

/// Machines fed by one pool of pallets, or a standalone machine.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Cell, example = json!({"id": "01936b5e-5c00-7000-8000-0000000000c1", "code": "POOL-A", "name": "Pallet pool A",
    "kind": "pool", "load_stations": 1, "stands": 6, "exchange_s": 45, "has_own_calendar": false,
    "changed_seq": 12}))]
pub struct CellDto {
    #[schema(value_type = uuid::Uuid)]
    pub id: CellId,
    #[schema(value_type = text::Code)]
    pub code: Code,
    #[schema(value_type = text::Name)]
    pub name: Name,
    pub kind: CellKindName,
    /// Of a pool.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub load_stations: Option<u32>,
    /// Of a pool: places where a pallet waits that is neither at a load station nor in a machine.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stands: Option<u32>,
    /// Of a pool: how long a machine stands still while one pallet is exchanged for the next.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub exchange_s: Option<u32>,
    pub has_own_calendar: bool,
    /// The entry that last changed it: its version.
    #[schema(value_type = text::Seq)]
    pub changed_seq: Seq,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = CellKind)]
pub enum CellKindName {
    Pool,
    Standalone,
}

/// `load_stations`, `stands` and `exchange_s` belong to a pool.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"code": "POOL-A", "name": "Pallet pool A", "kind": "pool", "load_stations": 1, "stands": 6,
    "exchange_s": 45}))]
pub struct CellBody {
    #[schema(value_type = text::Code)]
    pub code: Code,
    #[schema(value_type = text::Name)]
    pub name: Name,
    pub kind: CellKindName,
    pub load_stations: Option<Whole<0, 1_000>>,
    pub stands: Option<Whole<0, 10_000>>,
    pub exchange_s: Option<Whole<0, 86_400>>,
}

impl CellBody {
    pub fn kind(&self) -> Result<CellKind, Problem> {
        let given = [
            ("load_stations", self.load_stations.map(Whole::to::<u32>)),
            ("stands", self.stands.map(Whole::to::<u32>)),
            ("exchange_s", self.exchange_s.map(Whole::to::<u32>)),
        ];
        let wrong = |field: &str, code, detail: String| {
            body::invalid(FieldError::at(Place::pointer(format!("/{field}")), code, detail))
        };
        match self.kind {
            CellKindName::Standalone => match given.into_iter().find(|(_, value)| value.is_some()) {
                Some((field, _)) => Err(wrong(
                    field,
                    "unknown",
                    format!("a standalone machine has no `{field}`: leave it out, or say pool"),
                )),
                None => Ok(CellKind::Standalone),
            },
            CellKindName::Pool => {
                let [load_stations, stands, exchange_s] = given.map(|(field, value)| {
                    value.ok_or_else(|| {
                        wrong(field, "missing", format!("`{field}` is missing; a pool needs it"))
                    })
                });
                Ok(CellKind::Pool {
                    load_stations: load_stations?,
                    stands: stands?,
                    exchange_s: exchange_s?,
                })
            }
        }
    }
}

impl From<&Cell> for CellDto {
    fn from(cell: &Cell) -> Self {
        let (kind, pool) = match cell.kind {
            CellKind::Pool {
                load_stations,
                stands,
                exchange_s,
            } => (CellKindName::Pool, Some((load_stations, stands, exchange_s))),
            CellKind::Standalone => (CellKindName::Standalone, None),
        };
        Self {
            id: cell.id,
            code: cell.code.clone(),
            name: cell.name.clone(),
            kind,
            load_stations: pool.map(|pool| pool.0),
            stands: pool.map(|pool| pool.1),
            exchange_s: pool.map(|pool| pool.2),
            has_own_calendar: cell.calendar.is_some(),
            changed_seq: cell.changed_seq,
        }
    }
}

/// A page of cells.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"items": [{"id": "01936b5e-5c00-7000-8000-0000000000c1", "code": "POOL-A",
    "name": "Pallet pool A", "kind": "pool", "load_stations": 1, "stands": 6, "exchange_s": 45,
    "has_own_calendar": false, "changed_seq": 12}], "next_cursor": null}))]
pub struct CellPage {
    #[schema(max_items = 200)]
    pub items: Vec<CellDto>,
    /// Null on the last page.
    #[schema(value_type = Option<text::Cursor>)]
    pub next_cursor: Option<String>,
}
