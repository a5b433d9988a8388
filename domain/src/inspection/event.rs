use super::{Authority, InspectionRule};
use crate::code::Code;
use crate::ids::{CustomerId, HoldId, JobId, LoadId, MachineId, OrderId, PalletId, PartId, Seq, SetupId};
use crate::job::Counts;
use crate::load::{Clamped, Disposition};
use crate::note::NoteRef;
use crate::time::Timestamp;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

/// So many pieces of a job operation that were decided about, and the nests that they sat in where somebody named them.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Decided {
    pub job: JobId,
    pub operation: u16,
    pub pieces: u32,
    pub nests: Vec<u32>,
}

/// What an accepted first piece opens: the rest of the operation, at this revision, from this setup on this machine.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ApprovalGiven {
    pub job: JobId,
    pub part: PartId,
    pub operation: u16,
    pub revision: Code,
    pub setup: SetupId,
    pub machine: MachineId,
    /// Empty: nobody named them.
    pub nests: Vec<u32>,
    /// The formal one, which a job needs once at each operation.
    pub first_article: bool,
    /// When its piece was cut: shift and tools are those of then.
    pub cut_at: Timestamp,
}

/// Somebody who may decided about pieces of a held load.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HoldDisposed {
    pub hold: HoldId,
    pub pallet: PalletId,
    pub load: LoadId,
    pub disposition: Disposition,
    /// Their counts move when they are taken off; false: they lie in inspection and move now.
    pub on_pallet: bool,
    pub pieces: Vec<Decided>,
    /// Nothing of the hold is left to decide.
    pub lifted: bool,
    pub approved: Vec<ApprovalGiven>,
    pub authority: Authority,
    /// Whoever decided had loaded or run it.
    pub self_checked: bool,
    pub reference: Option<NoteRef>,
    pub note: Option<NoteRef>,
    pub at: Timestamp,
}

impl HoldDisposed {
    /// What its pieces count as.
    pub fn counts(&self) -> Vec<(JobId, u16, Counts)> {
        let count = |one: &Decided| (one.job, one.operation, self.disposition.counts(one.pieces));
        self.pieces.iter().map(count).collect()
    }
}

/// Decided but for the customer's reference: the load stays held.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DispositionProposed {
    pub hold: HoldId,
    pub pallet: PalletId,
    pub disposition: Disposition,
    pub pieces: Vec<Decided>,
    pub authority: Authority,
    pub self_checked: bool,
    pub note: Option<NoteRef>,
    pub at: Timestamp,
}

/// Pieces that go back to where nobody has judged them.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Unjudged {
    pub job: JobId,
    pub operation: u16,
    pub counts: Counts,
}

impl Unjudged {
    /// As if they were on a load.
    pub fn clamped(&self) -> Clamped {
        Clamped {
            job: self.job,
            operation: self.operation,
            pieces: u32::try_from(self.counts.total()).unwrap_or(u32::MAX),
            rework: false,
        }
    }
}

/// A result was wrong: it counts no more. The entry that it was stays where it is.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct InspectionReversed {
    /// The entry that gave the result.
    pub entry: Seq,
    pub hold: Option<HoldId>,
    pub pallet: Option<PalletId>,
    /// Its pieces are still clamped, and held again.
    pub on_pallet: bool,
    pub pieces: Vec<Unjudged>,
    pub note: Option<NoteRef>,
    pub at: Timestamp,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CustomerInspectionSet {
    pub customer: CustomerId,
    pub rules: Vec<InspectionRule>,
}

/// Whether the customer's reference is needed before a piece of the order is used as it is.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OrderApprovalSet {
    pub order: OrderId,
    pub customer_approval_needed: bool,
}

/// A released job whose part was not finished for so long that its customer wants the formal inspection again.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FirstArticleDue {
    pub job: JobId,
    pub last_finished: NaiveDate,
    pub days: u32,
    pub after_months: u16,
}
