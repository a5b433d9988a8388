//! stub
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Calendar {}
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct CalendarVersions {}
impl CalendarVersions {
    pub fn set(&mut self, _f: NaiveDate, _c: Calendar) {}
}
