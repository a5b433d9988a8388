//! Vendors: whoever does a step outside, and on which days they work.

mod command;
mod decide;
mod event;
mod refusal;
#[cfg(test)]
mod tests;

pub use command::{AddVendor, ChangeVendor};
pub(crate) use decide::{add, change};
pub use event::{VendorAdded, VendorChanged, VendorFacts, Workday};
pub use refusal::VendorRefusal;

use crate::ids::{Seq, VendorId};
use chrono::{Datelike, NaiveDate};
use serde::{Deserialize, Serialize};

pub const VENDORS_MAX: usize = 10_000;
/// Years of holidays.
pub const CLOSED_DAYS_MAX: usize = 2_000;

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Vendor {
    pub id: VendorId,
    pub facts: VendorFacts,
    pub changed_seq: Seq,
}

impl Vendor {
    pub fn works_on(&self, date: NaiveDate) -> bool {
        self.facts.workdays.contains(&Workday(date.weekday())) && !self.facts.closed.contains(&date)
    }

    /// When it is back: the lead time starts on the day after receipt and counts the vendor's working days. `None`
    /// beyond the end of all calendars.
    pub fn due_after(&self, received: NaiveDate, lead_days: u32) -> Option<NaiveDate> {
        // A vendor with one working day a week needs a week for each day, and one more for each that is closed.
        let reach = (lead_days as usize + CLOSED_DAYS_MAX + 1) * 7;
        if lead_days == 0 {
            return Some(received);
        }
        let after = received.iter_days().skip(1).take(reach);
        after
            .filter(|date| self.works_on(*date))
            .nth(lead_days as usize - 1)
    }
}
