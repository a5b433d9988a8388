use super::{Decided, InspectionRule};
use crate::code::Code;
use crate::ids::{CustomerId, HoldId, JobId, Seq};
use crate::load::Disposition;
use crate::note::NoteRef;
use crate::time::Timestamp;

#[derive(Clone, Debug)]
pub struct DisposeHold {
    pub hold: HoldId,
    pub disposition: Disposition,
    /// Empty: all that nobody has decided about yet.
    pub pieces: Vec<Decided>,
    /// Of the drawing that was measured by.
    pub revision: Option<Code>,
    /// The customer's, by which they agree.
    pub reference: Option<NoteRef>,
    pub at: Timestamp,
    pub note: Option<NoteRef>,
}

/// What a proposed disposition waits for.
#[derive(Clone, Debug)]
pub struct GiveReference {
    pub hold: HoldId,
    pub reference: NoteRef,
    pub at: Timestamp,
}

/// That result was wrong.
#[derive(Clone, Debug)]
pub struct ReverseInspection {
    pub job: JobId,
    /// The entry that gave it; `None`: the last one that stands.
    pub entry: Option<Seq>,
    pub note: Option<NoteRef>,
    pub at: Timestamp,
}

#[derive(Clone, Debug)]
pub struct SetCustomerInspection {
    pub customer: CustomerId,
    pub rules: Vec<InspectionRule>,
    /// The version that the change was made on (If-Match); `None` at the command line.
    pub expected: Option<Seq>,
}
