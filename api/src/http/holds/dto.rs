use crate::http::instant::{AtLocal, Instant};
use crate::http::machines::dto::NoteText;
use crate::http::pallets::load_dto::ClampedDto;
use crate::http::text;
use serde::{Deserialize, Serialize};
use spindlebook_domain::floor::HoldAccepted;
use spindlebook_domain::ids::{CellId, HoldId, JobId, LoadId, MachineId, PalletId, Seq, SetupId};
use spindlebook_domain::load::{Approval, Disposition, Hold, HoldKind};
use spindlebook_domain::shop::Shop;
use utoipa::ToSchema;

/// A load that waits for somebody who decides.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Hold)]
pub struct HoldDto {
    #[schema(value_type = uuid::Uuid)]
    pub id: HoldId,
    #[schema(value_type = text::HoldKind)]
    pub kind: HoldKind,
    #[schema(value_type = text::Instant)]
    pub since: Instant,
    #[schema(value_type = uuid::Uuid)]
    pub cell: CellId,
    #[schema(value_type = uuid::Uuid)]
    pub pallet: PalletId,
    #[schema(value_type = uuid::Uuid)]
    pub load: LoadId,
    #[schema(value_type = uuid::Uuid)]
    pub setup: SetupId,
    /// On which its load was cut; null before that.
    #[schema(value_type = Option<uuid::Uuid>)]
    pub machine: Option<MachineId>,
    /// False: the load was taken off, and its pieces wait in inspection.
    pub on_pallet: bool,
    #[schema(max_items = 200)]
    pub pieces: Vec<ClampedDto>,
    /// The entry that last changed it: its version.
    #[schema(value_type = text::Seq)]
    pub changed_seq: Seq,
}

/// A page of holds.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"items": [], "next_cursor": null}))]
pub struct HoldPage {
    #[schema(max_items = 200)]
    pub items: Vec<HoldDto>,
    /// Null on the last page.
    #[schema(value_type = Option<text::Cursor>)]
    pub next_cursor: Option<String>,
}

/// `at` or `at_local`; without either, now.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"disposition": "accept", "note": "Bore 12.003, within tolerance"}))]
pub struct DispositionBody {
    #[schema(value_type = text::Disposition)]
    pub disposition: Disposition,
    #[schema(value_type = Option<text::Instant>)]
    pub at: Option<Instant>,
    pub at_local: Option<AtLocal>,
    #[schema(value_type = Option<text::Note>)]
    pub note: Option<NoteText>,
}

/// What was decided.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Disposed, example = json!({"hold": "01936b5e-5c00-7000-8000-000000000801", "disposition": "accept",
    "at": "2026-11-02T08:20:00Z", "approved": []}))]
pub struct DisposedDto {
    #[schema(value_type = uuid::Uuid)]
    pub hold: HoldId,
    #[schema(value_type = text::Disposition)]
    pub disposition: Disposition,
    #[schema(value_type = text::Instant)]
    pub at: Instant,
    /// What may be cut from here on without another first piece.
    #[schema(max_items = 200)]
    pub approved: Vec<ApprovalDto>,
}

/// One operation of a job, from one setup, on one machine.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Approval)]
pub struct ApprovalDto {
    #[schema(value_type = uuid::Uuid)]
    pub job: JobId,
    pub operation: u16,
    #[schema(value_type = uuid::Uuid)]
    pub setup: SetupId,
    #[schema(value_type = uuid::Uuid)]
    pub machine: MachineId,
    /// The formal inspection, which a job needs once at each operation.
    pub first_article: bool,
}

impl HoldDto {
    pub fn of(hold: &Hold, shop: &Shop) -> Self {
        let load = shop
            .pallets
            .get(&hold.pallet)
            .and_then(|pallet| pallet.load.as_ref());
        let load = load.filter(|load| load.id == hold.load);
        let clamped = load.map_or(&hold.clamped, |load| &load.clamped);
        Self {
            id: hold.id,
            kind: hold.kind,
            since: hold.since.into(),
            cell: hold.cell,
            pallet: hold.pallet,
            load: hold.load,
            setup: hold.setup,
            machine: hold.machine,
            on_pallet: load.is_some(),
            pieces: clamped.iter().map(|one| ClampedDto::of(one, shop)).collect(),
            changed_seq: hold.changed_seq,
        }
    }
}

impl From<&HoldAccepted> for DisposedDto {
    fn from(accepted: &HoldAccepted) -> Self {
        Self {
            hold: accepted.hold,
            disposition: Disposition::Accept,
            at: accepted.at.into(),
            approved: accepted.approved.iter().map(ApprovalDto::from).collect(),
        }
    }
}

impl From<&Approval> for ApprovalDto {
    fn from(approval: &Approval) -> Self {
        Self {
            job: approval.job,
            operation: approval.operation,
            setup: approval.setup,
            machine: approval.machine,
            first_article: approval.first_article,
        }
    }
}
