use crate::code::{Code, Name};
use crate::ids::{CustomerId, JobId, OrderId, PartId, Seq};
use crate::time::Timestamp;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

/// How urgent a line is. Weights act inside of tardiness, not before due dates.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Priority {
    Rush,
    Normal,
    /// For when there is nothing else to cut.
    Fill,
}

/// Not arrived and no date: nobody knows when it comes.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Material {
    pub expected: Option<NaiveDate>,
    pub arrived: Option<Arrived>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Arrived {
    pub at: Timestamp,
    /// The heat or certificate that came with it.
    pub certificate: Option<Name>,
}

/// What was quoted for an operation: setting up once, running all pieces of the line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Quoted {
    pub operation: u16,
    pub setup_s: u32,
    pub run_s: u32,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LineFacts {
    pub number: u32,
    pub part: PartId,
    pub revision: Code,
    pub quantity: u32,
    pub due: NaiveDate,
    pub priority: Priority,
    pub material: Material,
    pub quoted: Vec<Quoted>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OrderEntered {
    pub order: OrderId,
    pub code: Code,
    pub customer: Option<CustomerId>,
    pub reference: Option<Name>,
    pub lines: Vec<LineFacts>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OrderChanged {
    pub order: OrderId,
    pub customer: Option<CustomerId>,
    pub reference: Option<Name>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LineAdded {
    pub order: OrderId,
    pub line: LineFacts,
}

/// What a customer may change of a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LineTerms {
    pub quantity: u32,
    pub due: NaiveDate,
    pub priority: Priority,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JobQuantity {
    pub job: JobId,
    pub quantity: u32,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LineChanged {
    pub order: OrderId,
    pub line: u32,
    pub was: LineTerms,
    pub now: LineTerms,
    /// The lots whose wanted quantity changes with it.
    pub jobs: Vec<JobQuantity>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MaterialExpected {
    pub order: OrderId,
    pub line: u32,
    pub expected: Option<NaiveDate>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MaterialArrived {
    pub order: OrderId,
    pub line: u32,
    pub at: Timestamp,
    pub certificate: Option<Name>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LineReleased {
    pub order: OrderId,
    pub line: u32,
    pub job: JobId,
    pub blanks: u32,
    /// The entry that set the routing which is frozen with it.
    pub routing_seq: Seq,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LineCancelled {
    pub order: OrderId,
    pub line: u32,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LineCompleted {
    pub order: OrderId,
    pub line: u32,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OrderShipped {
    pub order: OrderId,
    pub line: u32,
    pub job: JobId,
    pub pieces: u32,
    pub at: Timestamp,
}

/// Every line is complete or cancelled: the order leaves the shop and stays in the tables.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OrderCompleted {
    pub order: OrderId,
}
