use crate::calendar::Calendar;
use crate::code::{Code, Name};
use crate::ids::CellId;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum CellKind {
    /// Pallets circulate between load stations, stands and machines.
    Pool {
        load_stations: u32,
        /// Places where a pallet waits that is neither at a load station nor in a machine.
        stands: u32,
        /// How long a machine stands still while one pallet is exchanged for the next.
        exchange_s: u32,
    },
    /// One machine without a pool: loading it stops the spindle.
    Standalone,
}

impl CellKind {
    /// Its places beside the spindles, in words.
    pub fn places(self) -> String {
        match self {
            Self::Pool {
                load_stations,
                stands,
                ..
            } => format!("{load_stations} load stations and {stands} stands"),
            Self::Standalone => "neither load stations nor stands".to_owned(),
        }
    }
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CellAdded {
    pub cell: CellId,
    pub code: Code,
    pub name: Name,
    pub kind: CellKind,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CellChanged {
    pub cell: CellId,
    pub code: Code,
    pub name: Name,
    pub kind: CellKind,
}

/// The cell works by its own calendar from the shift date `valid_from` on.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CellCalendarSet {
    pub cell: CellId,
    pub valid_from: NaiveDate,
    pub calendar: Calendar,
}

/// The cell works by the site's calendar again, also for the past.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CellCalendarCleared {
    pub cell: CellId,
}
