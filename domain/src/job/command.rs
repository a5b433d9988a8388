use super::{Back, Counts, Moved};
use crate::code::Name;
use crate::ids::JobId;
use crate::time::Timestamp;
use chrono::NaiveDate;

#[derive(Clone, Debug)]
pub struct SplitJob {
    pub job: JobId,
    pub into: JobId,
    /// Good pieces wanted of the new lot; the old one wants so many less.
    pub quantity: u32,
    /// Waiting pieces that go with it. None: it gets blanks of its own.
    pub moved: Vec<Moved>,
}

#[derive(Clone, Debug)]
pub struct AddBlanks {
    pub job: JobId,
    pub pieces: u32,
    pub certificate: Option<Name>,
}

#[derive(Clone, Debug)]
pub struct ReportStepOut {
    pub job: JobId,
    pub operation: u16,
    pub pieces: u32,
    pub from_rework: bool,
    pub at: Timestamp,
    /// As it was promised; `None`: by the routing's lead time.
    pub due: Option<NaiveDate>,
}

#[derive(Clone, Debug)]
pub struct ReportStepBack {
    pub job: JobId,
    pub step: u32,
    pub back: Back,
    pub at: Timestamp,
}

/// What the inspector says of pieces that were taken to them.
#[derive(Clone, Debug)]
pub struct ReportInspected {
    pub job: JobId,
    pub operation: u16,
    pub counts: Counts,
    pub at: Timestamp,
}
