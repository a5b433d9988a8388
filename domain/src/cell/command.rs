use super::CellKind;
use crate::calendar::Calendar;
use crate::code::{Code, Name};
use crate::ids::{CellId, Seq};
use chrono::NaiveDate;

#[derive(Clone, Debug)]
pub struct AddCell {
    pub cell: CellId,
    pub code: Code,
    pub name: Name,
    pub kind: CellKind,
}

#[derive(Clone, Debug)]
pub struct ChangeCell {
    pub cell: CellId,
    pub code: Code,
    pub name: Name,
    pub kind: CellKind,
    /// The version that the change was made on (If-Match); `None` at the command line.
    pub expected: Option<Seq>,
}

#[derive(Clone, Debug)]
pub struct SetCellCalendar {
    pub cell: CellId,
    pub valid_from: NaiveDate,
    pub calendar: Calendar,
    pub expected: Option<Seq>,
}

#[derive(Clone, Debug)]
pub struct ClearCellCalendar {
    pub cell: CellId,
    pub expected: Option<Seq>,
}
