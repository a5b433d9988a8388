use super::Calendar;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::sync::Arc;

static NOBODY_WORKS: Calendar = Calendar {
    shifts: Vec::new(),
    exceptions: Vec::new(),
};

/// The calendars of a site or cell, each with the shift date from which on it applies. Cheap to clone.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(
    from = "BTreeMap<NaiveDate, Calendar>",
    into = "BTreeMap<NaiveDate, Calendar>"
)]
pub struct CalendarVersions {
    by_valid_from: Arc<BTreeMap<NaiveDate, Calendar>>,
}

impl CalendarVersions {
    /// A version that was set for the same date before is replaced.
    pub fn set(&mut self, valid_from: NaiveDate, calendar: Calendar) {
        Arc::make_mut(&mut self.by_valid_from).insert(valid_from, calendar);
    }

    /// The calendar of a shift date: the newest one that is valid by then, before the first one an empty one.
    pub fn for_date(&self, date: NaiveDate) -> &Calendar {
        self.version_for(date)
            .map_or(&NOBODY_WORKS, |(_, calendar)| calendar)
    }

    /// The version that applies on a shift date, with the date from which on it is valid.
    pub fn version_for(&self, date: NaiveDate) -> Option<(NaiveDate, &Calendar)> {
        self.by_valid_from
            .range(..=date)
            .next_back()
            .map(|(valid_from, calendar)| (*valid_from, calendar))
    }

    /// From the oldest to the newest.
    pub fn iter(&self) -> impl DoubleEndedIterator<Item = (NaiveDate, &Calendar)> {
        self.by_valid_from
            .iter()
            .map(|(valid_from, calendar)| (*valid_from, calendar))
    }

    pub fn is_empty(&self) -> bool {
        self.by_valid_from.is_empty()
    }

    pub fn len(&self) -> usize {
        self.by_valid_from.len()
    }
}

impl From<BTreeMap<NaiveDate, Calendar>> for CalendarVersions {
    fn from(by_valid_from: BTreeMap<NaiveDate, Calendar>) -> Self {
        Self {
            by_valid_from: Arc::new(by_valid_from),
        }
    }
}

impl From<CalendarVersions> for BTreeMap<NaiveDate, Calendar> {
    fn from(versions: CalendarVersions) -> Self {
        Arc::unwrap_or_clone(versions.by_valid_from)
    }
}
