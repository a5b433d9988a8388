//! What is decided about held pieces.

use crate::http::instant::{AtLocal, Instant};
use crate::http::machines::dto::NoteText;
use crate::http::noted::Noted;
use crate::http::text;
use crate::http::whole::Whole;
use serde::{Deserialize, Serialize};
use spindlebook_domain::code::Code;
use spindlebook_domain::ids::{HoldId, JobId, MachineId, SetupId, TextId};
use spindlebook_domain::inspection::{
    ApprovalGiven, Authority, Decided, DisposeHold, DispositionProposed, HoldDisposed,
};
use spindlebook_domain::load::Disposition;
use spindlebook_domain::note::NoteRef;
use spindlebook_domain::time::Timestamp;
use utoipa::ToSchema;

pub type OperationNumber = Whole<1, 9_999>;
pub type Pieces = Whole<1, 100_000>;
pub type Nest = Whole<1, 1_000>;

/// `at` or `at_local`; without either, now.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"disposition": "use_as_is", "reference": "Customer's mail of 2026-11-02",
    "note": "Bore 12.03: the gauge still goes through"}))]
pub struct DispositionBody {
    #[schema(value_type = text::Disposition)]
    pub disposition: Disposition,
    /// Without it, all that nobody has decided about yet.
    #[serde(default)]
    #[schema(max_items = 200)]
    pub pieces: Vec<DecidedBody>,
    /// Of the drawing that was measured by. Another one than the pieces are is refused.
    #[schema(value_type = Option<text::Code>)]
    pub revision: Option<Code>,
    /// Where the evidence is: a report's number. To use as it is what the customer has to agree to, theirs.
    #[schema(value_type = Option<text::Note>)]
    pub reference: Option<NoteText>,
    /// Why. Needed for all but accepting.
    #[schema(value_type = Option<text::Note>)]
    pub note: Option<NoteText>,
    #[schema(value_type = Option<text::Instant>)]
    pub at: Option<Instant>,
    pub at_local: Option<AtLocal>,
}

/// So many pieces of a job operation.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = DecidedPieces)]
pub struct DecidedBody {
    #[schema(value_type = uuid::Uuid)]
    pub job: JobId,
    pub operation: OperationNumber,
    pub pieces: Pieces,
    /// Where they sat, counted from 1.
    #[serde(default)]
    #[schema(max_items = 1000)]
    pub nests: Vec<Nest>,
}

/// `at` or `at_local`; without either, now.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"reference": "Customer's mail of 2026-11-02"}))]
pub struct ReferenceBody {
    #[schema(value_type = text::Note)]
    pub reference: NoteText,
    #[schema(value_type = Option<text::Instant>)]
    pub at: Option<Instant>,
    pub at_local: Option<AtLocal>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = DispositionState)]
pub enum DispositionStateName {
    Decided,
    /// The load stays held until the customer's reference is entered.
    Proposed,
}

/// What was decided.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Disposed, example = json!({"hold": "01936b5e-5c00-7000-8000-000000000801", "disposition": "accept",
    "state": "decided", "at": "2026-11-02T08:20:00Z", "pieces": [], "lifted": true, "approved": [], "authority": "inspector",
    "self_checked": false, "reference": null, "note": null}))]
pub struct DisposedDto {
    #[schema(value_type = uuid::Uuid)]
    pub hold: HoldId,
    #[schema(value_type = text::Disposition)]
    pub disposition: Disposition,
    pub state: DispositionStateName,
    #[schema(value_type = text::Instant)]
    pub at: Instant,
    #[schema(max_items = 200)]
    pub pieces: Vec<DecidedDto>,
    /// Nothing of the hold is left to decide.
    pub lifted: bool,
    /// What may be cut from here on without another first piece.
    #[schema(max_items = 200)]
    pub approved: Vec<ApprovalDto>,
    #[schema(value_type = text::Authority)]
    pub authority: Authority,
    /// Whoever decided had loaded or run it.
    pub self_checked: bool,
    /// The id of its text.
    #[schema(value_type = Option<uuid::Uuid>)]
    pub reference: Option<TextId>,
    /// The id of its text.
    #[schema(value_type = Option<uuid::Uuid>)]
    pub note: Option<TextId>,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Decided)]
pub struct DecidedDto {
    #[schema(value_type = uuid::Uuid)]
    pub job: JobId,
    pub operation: u16,
    pub pieces: u32,
    #[schema(max_items = 1000)]
    pub nests: Vec<u32>,
}

/// One operation of a job at a revision, from one setup, on one machine.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Approval)]
pub struct ApprovalDto {
    #[schema(value_type = uuid::Uuid)]
    pub job: JobId,
    pub operation: u16,
    #[schema(value_type = text::Code)]
    pub revision: Code,
    #[schema(value_type = uuid::Uuid)]
    pub setup: SetupId,
    #[schema(value_type = uuid::Uuid)]
    pub machine: MachineId,
    /// Those that were named; empty where nobody had to.
    #[schema(max_items = 1000)]
    pub nests: Vec<u32>,
    /// The formal inspection, which a job needs once at each operation.
    pub first_article: bool,
}

impl DispositionBody {
    pub fn into_command(self, hold: HoldId, at: Timestamp, noted: &mut Noted) -> DisposeHold {
        let one = |one: DecidedBody| Decided {
            job: one.job,
            operation: one.operation.to(),
            pieces: one.pieces.to(),
            nests: one.nests.into_iter().map(Whole::to).collect(),
        };
        DisposeHold {
            hold,
            disposition: self.disposition,
            pieces: self.pieces.into_iter().map(one).collect(),
            revision: self.revision,
            reference: self.reference.map(|text| noted.add(text)),
            at,
            note: self.note.map(|text| noted.add(text)),
        }
    }
}

impl From<&HoldDisposed> for DisposedDto {
    fn from(event: &HoldDisposed) -> Self {
        Self {
            hold: event.hold,
            disposition: event.disposition,
            state: DispositionStateName::Decided,
            at: event.at.into(),
            pieces: event.pieces.iter().map(DecidedDto::from).collect(),
            lifted: event.lifted,
            approved: event.approved.iter().map(ApprovalDto::from).collect(),
            authority: event.authority,
            self_checked: event.self_checked,
            reference: event.reference.as_ref().map(text_of),
            note: event.note.as_ref().map(text_of),
        }
    }
}

impl From<&DispositionProposed> for DisposedDto {
    fn from(event: &DispositionProposed) -> Self {
        Self {
            hold: event.hold,
            disposition: event.disposition,
            state: DispositionStateName::Proposed,
            at: event.at.into(),
            pieces: event.pieces.iter().map(DecidedDto::from).collect(),
            lifted: false,
            approved: Vec::new(),
            authority: event.authority,
            self_checked: event.self_checked,
            reference: None,
            note: event.note.as_ref().map(text_of),
        }
    }
}

const fn text_of(note: &NoteRef) -> TextId {
    note.text
}

impl From<&Decided> for DecidedDto {
    fn from(decided: &Decided) -> Self {
        Self {
            job: decided.job,
            operation: decided.operation,
            pieces: decided.pieces,
            nests: decided.nests.clone(),
        }
    }
}

impl From<&ApprovalGiven> for ApprovalDto {
    fn from(approval: &ApprovalGiven) -> Self {
        Self {
            job: approval.job,
            operation: approval.operation,
            revision: approval.revision.clone(),
            setup: approval.setup,
            machine: approval.machine,
            nests: approval.nests.clone(),
            first_article: approval.first_article,
        }
    }
}
