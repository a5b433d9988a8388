//! Cells: machines fed by one pool of pallets, or a standalone machine whose only pallet is its own table.

mod command;
mod decide;
mod event;
mod refusal;
#[cfg(test)]
mod tests;

pub use command::{AddCell, ChangeCell, ClearCellCalendar, SetCellCalendar};
pub(crate) use decide::{add, change, clear_calendar, set_calendar};
pub use event::{CellAdded, CellCalendarCleared, CellCalendarSet, CellChanged, CellKind};
pub use refusal::CellRefusal;

use crate::calendar::CalendarVersions;
use crate::code::{Code, Name};
use crate::ids::{CellId, PalletId, Seq};
use crate::site::Site;
use serde::{Deserialize, Serialize};

/// Far more than a job shop has.
pub const CELLS_MAX: usize = 200;

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Cell {
    pub id: CellId,
    pub code: Code,
    pub name: Name,
    pub kind: CellKind,
    /// Its own calendar where it works other hours than the site.
    pub calendar: Option<CalendarVersions>,
    /// The order in which its ready pallets go to the spindle.
    pub queue: Vec<PalletId>,
    pub queue_changed_seq: Seq,
    pub changed_seq: Seq,
    pub calendar_changed_seq: Seq,
}

impl Cell {
    /// The version of the calendar that it works by: without one of its own, that changes with the site's too.
    pub fn calendar_version(&self, site: &Site) -> Seq {
        match self.calendar {
            Some(_) => self.calendar_changed_seq,
            None => self.calendar_changed_seq.max(site.calendar_changed_seq),
        }
    }
}
