//! Where the pieces of a job are, operation by operation. The counts always close: what has come to an operation is
//! waiting, clamped, to be inspected, good, scrapped, in rework, out or returned, and nowhere else.

use crate::ids::VendorId;
use crate::time::Timestamp;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

/// What became of pieces that were cut or judged.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Counts {
    pub good: u32,
    pub scrapped: u32,
    pub rework: u32,
    /// Taken to the inspector, who has not judged them yet.
    pub inspection: u32,
    /// Given back to whoever they belong to.
    pub returned: u32,
}

impl Counts {
    pub fn total(self) -> u64 {
        [
            self.good,
            self.scrapped,
            self.rework,
            self.inspection,
            self.returned,
        ]
        .into_iter()
        .map(u64::from)
        .sum()
    }
}

/// The pieces of a job at one operation of its routing.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct AtOperation {
    pub number: u16,
    /// All that ever came: blanks at the first operation, else the good ones of the operation before.
    pub came: u32,
    pub clamped: u32,
    pub inspection: u32,
    pub good: u32,
    pub scrapped: u32,
    pub rework: u32,
    pub out: u32,
    pub returned: u32,
    /// Handed over to a manual or outside step, in the order in which that happened.
    pub outside: Vec<StepOut>,
}

/// Pieces handed over to a manual step, in the house or to a vendor.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct StepOut {
    /// Counted from 1 over all operations of the job.
    pub step: u32,
    /// `None`: in the house.
    pub vendor: Option<VendorId>,
    pub pieces: u32,
    pub at: Timestamp,
    /// The day by whose end it should be back.
    pub due: Option<NaiveDate>,
    pub good: u32,
    pub damaged: u32,
    pub missing: u32,
    pub last_back_at: Option<Timestamp>,
}

/// How pieces came back from a step.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Back {
    pub good: u32,
    /// To be judged: it may be scrap, or good after rework.
    pub damaged: u32,
    pub missing: u32,
}

impl Back {
    pub fn total(self) -> u64 {
        u64::from(self.good) + u64::from(self.damaged) + u64::from(self.missing)
    }
}

impl StepOut {
    pub const fn still_out(&self) -> u32 {
        let back = self
            .good
            .saturating_add(self.damaged)
            .saturating_add(self.missing);
        self.pieces.saturating_sub(back)
    }

    pub fn is_overdue_on(&self, today: NaiveDate) -> bool {
        self.still_out() > 0 && self.due.is_some_and(|due| due < today)
    }
}

impl AtOperation {
    pub fn waiting(&self) -> u32 {
        let elsewhere = [
            self.clamped,
            self.inspection,
            self.good,
            self.scrapped,
            self.rework,
            self.out,
            self.returned,
        ];
        elsewhere.into_iter().fold(self.came, u32::saturating_sub)
    }

    /// Those here that can still become good pieces of this operation.
    pub fn in_hand(&self) -> u32 {
        self.waiting() + self.clamped + self.inspection + self.rework + self.out
    }

    /// Whether anything but waiting has ever happened here.
    pub fn is_started(&self) -> bool {
        self.waiting() != self.came || !self.outside.is_empty()
    }

    /// Where pieces are taken from: those that wait, or those in rework.
    pub fn available(&self, from_rework: bool) -> u32 {
        if from_rework { self.rework } else { self.waiting() }
    }
}
