use super::disposition_dto::DecidedDto;
use crate::http::instant::Instant;
use crate::http::pallets::load_dto::ClampedDto;
use crate::http::text;
use serde::Serialize;
use spindlebook_domain::ids::{CellId, HoldId, JobId, LoadId, MachineId, PalletId, Seq, SetupId, TextId};
use spindlebook_domain::inspection::{NestsApproved, undecided};
use spindlebook_domain::load::{Disposition, Hold, HoldKind, Proposal};
use spindlebook_domain::shop::Shop;
use spindlebook_domain::time::{Timestamp, US_PER_SECOND};
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
    /// How long it has been held by now.
    pub age_s: i64,
    /// Of that, how long the spindles of its cell stood while every load that could have gone on was held or waited for a
    /// first piece: the category `waiting_for_inspection` of the hours report, summed over the machines. It is the cell's
    /// time, not shared out: of two open holds each shows it.
    pub spindle_s_waiting: i64,
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
    /// Of these, what nobody has decided about yet.
    #[schema(max_items = 200)]
    pub undecided: Vec<ClampedDto>,
    /// How far each operation is approved whose customer wants every nest approved.
    #[schema(max_items = 200)]
    pub nests_approved: Vec<NestsApprovedDto>,
    /// What waits for the customer's reference only.
    pub proposal: Option<ProposalDto>,
    /// The entry that last changed it: its version.
    #[schema(value_type = text::Seq)]
    pub changed_seq: Seq,
}

/// So many of the nests of the setup have an approved piece.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = NestsApproved)]
pub struct NestsApprovedDto {
    #[schema(value_type = uuid::Uuid)]
    pub job: JobId,
    pub operation: u16,
    #[schema(max_items = 1000)]
    pub approved: Vec<u32>,
    /// In all.
    pub nests: u32,
}

/// Decided but for the customer's reference.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Proposal)]
pub struct ProposalDto {
    #[schema(value_type = text::Disposition)]
    pub disposition: Disposition,
    #[schema(max_items = 200)]
    pub pieces: Vec<DecidedDto>,
    #[schema(value_type = text::Instant)]
    pub at: Instant,
    /// The id of its text.
    #[schema(value_type = Option<uuid::Uuid>)]
    pub note: Option<TextId>,
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

impl HoldDto {
    pub fn of(hold: &Hold, shop: &Shop, now: Timestamp, spindle_s_waiting: i64) -> Self {
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
            age_s: now.since_us(hold.since).max(0) / US_PER_SECOND,
            spindle_s_waiting,
            cell: hold.cell,
            pallet: hold.pallet,
            load: hold.load,
            setup: hold.setup,
            machine: hold.machine,
            on_pallet: load.is_some(),
            pieces: clamped.iter().map(|one| ClampedDto::of(one, shop)).collect(),
            undecided: undecided(shop, hold)
                .iter()
                .map(|one| ClampedDto::of(one, shop))
                .collect(),
            nests_approved: NestsApproved::of_hold(shop, hold)
                .into_iter()
                .map(NestsApprovedDto::from)
                .collect(),
            proposal: hold.proposal.as_ref().map(ProposalDto::from),
            changed_seq: hold.changed_seq,
        }
    }
}

impl From<NestsApproved> for NestsApprovedDto {
    fn from(nests: NestsApproved) -> Self {
        Self {
            job: nests.job,
            operation: nests.operation,
            approved: nests.approved,
            nests: nests.nests,
        }
    }
}

impl From<&Proposal> for ProposalDto {
    fn from(proposal: &Proposal) -> Self {
        Self {
            disposition: proposal.disposition,
            pieces: proposal.pieces.iter().map(DecidedDto::from).collect(),
            at: proposal.at.into(),
            note: proposal.note.as_ref().map(|note| note.text),
        }
    }
}
