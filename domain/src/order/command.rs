use super::{Material, Priority, Quoted};
use crate::code::{Code, Name};
use crate::ids::{CustomerId, JobId, OrderId, PartId, Seq};
use crate::time::Timestamp;
use chrono::NaiveDate;

#[derive(Clone, Debug)]
pub struct EnterOrder {
    pub order: OrderId,
    pub code: Code,
    pub customer: Option<CustomerId>,
    pub reference: Option<Name>,
    /// Nothing of it is used as it is without the customer's reference.
    pub customer_approval_needed: bool,
    pub lines: Vec<NewLine>,
}

#[derive(Clone, Debug)]
pub struct NewLine {
    /// `None`: one more than the highest so far.
    pub number: Option<u32>,
    pub part: PartId,
    pub revision: Code,
    pub quantity: u32,
    pub due: NaiveDate,
    pub priority: Priority,
    pub material: Material,
    pub quoted: Vec<Quoted>,
}

#[derive(Clone, Debug)]
pub struct ChangeOrder {
    pub order: OrderId,
    pub customer: Option<CustomerId>,
    pub reference: Option<Name>,
    pub customer_approval_needed: bool,
    /// The version that the change was made on (If-Match); `None` at the command line.
    pub expected: Option<Seq>,
}

#[derive(Clone, Debug)]
pub struct AddLine {
    pub order: OrderId,
    pub line: NewLine,
}

#[derive(Clone, Debug)]
pub struct ChangeLine {
    pub order: OrderId,
    pub line: u32,
    pub quantity: u32,
    pub due: NaiveDate,
    pub priority: Priority,
    /// What was seen of the line and its lots when the change was made.
    pub expected: Option<Seq>,
}

#[derive(Clone, Debug)]
pub struct ExpectMaterial {
    pub order: OrderId,
    pub line: u32,
    pub expected: Option<NaiveDate>,
}

#[derive(Clone, Debug)]
pub struct ReceiveMaterial {
    pub order: OrderId,
    pub line: u32,
    pub at: Timestamp,
    pub certificate: Option<Name>,
}

#[derive(Clone, Debug)]
pub struct ReleaseOrder {
    pub order: OrderId,
    /// Empty: all that are entered, each with as many blanks as pieces.
    pub lines: Vec<ReleaseLine>,
    /// Ids for the new jobs, at least one for each line.
    pub jobs: Vec<JobId>,
}

#[derive(Clone, Debug)]
pub struct ReleaseLine {
    pub line: u32,
    /// `None`: as many as pieces are wanted.
    pub blanks: Option<u32>,
}

#[derive(Clone, Debug)]
pub struct CancelLine {
    pub order: OrderId,
    pub line: u32,
}

#[derive(Clone, Debug)]
pub struct CompleteLine {
    pub order: OrderId,
    pub line: u32,
}

#[derive(Clone, Debug)]
pub struct Ship {
    pub order: OrderId,
    pub line: u32,
    /// `None` where the line has one lot.
    pub job: Option<JobId>,
    pub pieces: u32,
    pub at: Timestamp,
}
