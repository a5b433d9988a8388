use crate::http::cells::pool_dto::CutsUntilDto;
use crate::http::holds::dto::HoldDto;
use crate::http::instant::Instant;
use crate::http::machines::dto::{ConditionDto, NoteText};
use crate::http::text;
use crate::http::whole::{EXACT_MAX, Whole};
use serde::{Deserialize, Serialize};
use spindlebook_domain::cell::Cell;
use spindlebook_domain::code::Code;
use spindlebook_domain::handover::{HandoverNote, LastHandover};
use spindlebook_domain::ids::{CellId, MachineId, PalletId, RunId, Seq, TextId};
use spindlebook_domain::machine::Machine;
use spindlebook_domain::pallet::Position;
use spindlebook_domain::run::{Purpose, RunState};
use spindlebook_domain::shop::Shop;
use spindlebook_domain::time::Timestamp;
use utoipa::ToSchema;

/// What stands on the page wherever it is shown.
pub const CAUTION: &str = "This page supports talking to each other; it does not replace it. Say aloud what is bypassed, \
                           held, loose or odd.";

/// All that whoever comes in should know of a cell.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Handover, example = json!({"cell": "01936b5e-5c00-7000-8000-0000000000c1", "as_of": "2026-11-02T13:50:00Z",
    "seq": 4211, "caution": "This page supports talking to each other; it does not replace it. Say aloud what is bypassed, held, loose or odd.",
    "last": null, "machines": [], "held": [], "odd": [], "odd_is_all": true,
    "tonight": {"cell": "01936b5e-5c00-7000-8000-0000000000c1", "as_of": "2026-11-02T13:50:00Z", "seq": 4211,
    "until": null, "machines": [], "not_counted": []}, "queue": ["P4"], "note": null}))]
pub struct HandoverDto {
    #[schema(value_type = uuid::Uuid)]
    pub cell: CellId,
    #[schema(value_type = text::Instant)]
    pub as_of: Instant,
    /// The entry that it was computed from; whoever confirms sends it.
    #[schema(value_type = text::Seq)]
    pub seq: Seq,
    pub caution: &'static str,
    /// The last handover that was confirmed: `odd` begins there.
    pub last: Option<LastHandoverDto>,
    /// What is in each machine.
    #[schema(max_items = 1000)]
    pub machines: Vec<InMachineDto>,
    /// What waits for somebody who decides, why and since when, the oldest first.
    #[schema(max_items = 2000)]
    pub held: Vec<HoldDto>,
    /// What went otherwise than it should, the newest last.
    #[schema(max_items = 200)]
    pub odd: Vec<OddDto>,
    /// False: there was more than the page holds, or it lies further back than was looked; the ledger has it.
    pub odd_is_all: bool,
    /// What runs from now on if nobody touches it.
    pub tonight: CutsUntilDto,
    /// The pallets that go to the spindle, in their order, by their codes.
    #[schema(value_type = Vec<text::Code>, max_items = 500)]
    pub queue: Vec<Code>,
    pub note: Option<HandoverNoteDto>,
}

#[derive(Debug, Serialize, ToSchema)]
pub struct LastHandoverDto {
    #[schema(max_length = 43)]
    pub by: String,
    #[schema(value_type = text::Instant)]
    pub at: Instant,
    #[schema(value_type = text::Seq)]
    pub seq: Seq,
}

#[derive(Debug, Serialize, ToSchema)]
pub struct InMachineDto {
    #[schema(value_type = uuid::Uuid)]
    pub machine: MachineId,
    #[schema(value_type = text::Code)]
    pub code: Code,
    pub condition: ConditionDto,
    #[schema(value_type = Option<uuid::Uuid>)]
    pub pallet: Option<PalletId>,
    #[schema(value_type = Option<text::Code>)]
    pub pallet_code: Option<Code>,
    /// The run that goes on.
    pub run: Option<OpenRunDto>,
}

#[derive(Debug, Serialize, ToSchema)]
pub struct OpenRunDto {
    #[schema(value_type = uuid::Uuid)]
    pub id: RunId,
    #[schema(value_type = text::Purpose)]
    pub purpose: Purpose,
    #[schema(value_type = text::Instant)]
    pub started_at: Instant,
    /// As planned, if nobody stops it.
    #[schema(value_type = text::Instant)]
    pub ends_at: Instant,
    /// It stands since then.
    #[schema(value_type = Option<text::Instant>)]
    pub paused_at: Option<Instant>,
    #[schema(value_type = Option<text::PauseReason>)]
    pub pause_reason: Option<spindlebook_domain::run::PauseReason>,
}

/// One entry that is told at handover.
#[derive(Debug, Serialize, ToSchema)]
pub struct OddDto {
    #[schema(value_type = text::Seq)]
    pub seq: Seq,
    #[schema(max_length = 64)]
    pub kind: String,
    #[schema(value_type = text::Instant)]
    pub at: Instant,
    #[schema(max_length = 43)]
    pub by: String,
    #[schema(value_type = Option<uuid::Uuid>)]
    pub machine: Option<MachineId>,
    #[schema(value_type = Option<uuid::Uuid>)]
    pub pallet: Option<PalletId>,
    #[schema(max_length = 64)]
    pub reason: Option<String>,
    #[schema(value_type = Option<uuid::Uuid>)]
    pub note: Option<TextId>,
}

#[derive(Debug, Serialize, ToSchema)]
pub struct HandoverNoteDto {
    #[schema(value_type = uuid::Uuid)]
    pub id: TextId,
    /// Null: it was forgotten.
    #[schema(value_type = Option<text::Note>)]
    pub text: Option<String>,
    #[schema(max_length = 43)]
    pub by: String,
    #[schema(value_type = text::Instant)]
    pub at: Instant,
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"note": "Clamp 3 on P2 was loose; torqued again at 13:20"}))]
pub struct HandoverNoteBody {
    #[schema(value_type = text::Note)]
    pub note: NoteText,
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"as_of_seq": 12}))]
pub struct ConfirmHandoverBody {
    /// `seq` of the page that was read.
    #[schema(value_type = text::Seq)]
    pub as_of_seq: ReadSeq,
}

type ReadSeq = Whole<1, EXACT_MAX>;

/// The entry that tells of it.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"cell": "01936b5e-5c00-7000-8000-0000000000c1", "seq": 4212}))]
pub struct HandedOverDto {
    #[schema(value_type = uuid::Uuid)]
    pub cell: CellId,
    #[schema(value_type = text::Seq)]
    pub seq: Seq,
}

impl InMachineDto {
    pub fn of(machine: &Machine, shop: &Shop, now: Timestamp) -> Self {
        let is_there =
            |position: Position| matches!(position, Position::Spindle { machine: at } if at == machine.id);
        let pallet = shop.pallets.values().find(|pallet| is_there(pallet.position));
        let run = machine.run.and_then(|run| shop.runs.get(&run));
        Self {
            machine: machine.id,
            code: machine.code.clone(),
            condition: machine.condition.into(),
            pallet: pallet.map(|pallet| pallet.id),
            pallet_code: pallet.map(|pallet| pallet.facts.code.clone()),
            run: run.map(|run| {
                let paused = match run.state {
                    RunState::Paused { at, reason } => Some((at, reason)),
                    _ => None,
                };
                OpenRunDto {
                    id: run.id,
                    purpose: run.purpose,
                    started_at: run.started_at.into(),
                    ends_at: run.ends_at(now).into(),
                    paused_at: paused.map(|(at, _)| at.into()),
                    pause_reason: paused.map(|(_, reason)| reason),
                }
            }),
        }
    }
}

impl HandoverNoteDto {
    pub fn new(note: &HandoverNote, text: Option<String>) -> Self {
        Self {
            id: note.note.text,
            text,
            by: note.by.clone(),
            at: note.at.into(),
        }
    }
}

impl From<&LastHandover> for LastHandoverDto {
    fn from(last: &LastHandover) -> Self {
        Self {
            by: last.by.clone(),
            at: last.at.into(),
            seq: last.seq,
        }
    }
}

pub fn queue_of(cell: &Cell, shop: &Shop) -> Vec<Code> {
    let pallets = cell.queue.iter().filter_map(|pallet| shop.pallets.get(pallet));
    pallets.map(|pallet| pallet.facts.code.clone()).collect()
}
