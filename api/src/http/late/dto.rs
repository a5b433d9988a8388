use crate::http::command::{Accepted, Reply};
use crate::http::instant::{AtLocal, Instant};
use crate::http::machines::dto::NoteText;
use crate::http::pallets::acted::{WarningCode, WarningDto};
use crate::http::text;
use serde::{Deserialize, Serialize};
use spindlebook_domain::event::Event;
use spindlebook_domain::ids::{HoldId, LoadId, MachineId, PalletId, ParkedId, RunId, Seq};
use spindlebook_domain::late::{Act, Deviation, Parked, now_against};
use spindlebook_domain::shop::Shop;
use spindlebook_domain::time::Timestamp;
use utoipa::ToSchema;

/// An act that somebody told of and that cannot be true as things stand. It waits until what is missing arrives or a
/// person has decided; it never expires.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = ParkedAct, example = json!({"id": "01936b5e-5c00-7000-8000-000000000a01", "act": "unload",
    "at": "2026-11-02T10:00:00Z", "pallet": "01936b5e-5c00-7000-8000-000000000301", "machine": null, "run": null,
    "told_by": "person:01936b5e-5c00-7000-8000-0000000000e1", "recorded_at": "2026-11-02T10:20:00Z",
    "against_then": {"code": "unload.nothing-loaded", "detail": "nothing is clamped on pallet 01936b5e-5c00-7000-8000-000000000301"},
    "against_now": {"code": "unload.nothing-loaded", "detail": "nothing is clamped on pallet 01936b5e-5c00-7000-8000-000000000301"},
    "changed_seq": 44}))]
pub struct ParkedActDto {
    #[schema(value_type = uuid::Uuid)]
    pub id: ParkedId,
    pub act: ActName,
    /// As it was told, its device's clock put right; it may be no usable time at all.
    #[schema(value_type = text::Instant)]
    pub at: Instant,
    #[schema(value_type = Option<uuid::Uuid>)]
    pub pallet: Option<PalletId>,
    #[schema(value_type = Option<uuid::Uuid>)]
    pub machine: Option<MachineId>,
    #[schema(value_type = Option<uuid::Uuid>)]
    pub run: Option<RunId>,
    #[schema(value_type = text::ActorName)]
    pub told_by: String,
    #[schema(value_type = text::Instant)]
    pub recorded_at: Instant,
    pub against_then: AgainstDto,
    /// Null: nothing speaks against it any more; book it, or drop it.
    pub against_now: Option<AgainstDto>,
    /// The entry that parked it: its place in the order of receipt.
    #[schema(value_type = text::Seq)]
    pub changed_seq: Seq,
}

/// A rule that speaks against an act.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Against)]
pub struct AgainstDto {
    /// One of the codes of refusals.
    #[schema(value_type = text::RuleCode)]
    pub code: String,
    #[schema(value_type = text::Sentence)]
    pub detail: String,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum ActName {
    Mount,
    FinishSetup,
    Unmount,
    Load,
    Move,
    Start,
    Pause,
    Resume,
    Finish,
    Abort,
    Unload,
    Hold,
}

/// A page of parked acts.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"items": [], "next_cursor": null}))]
pub struct ParkedActPage {
    #[schema(max_items = 200)]
    pub items: Vec<ParkedActDto>,
    /// Null on the last page.
    #[schema(value_type = Option<text::Cursor>)]
    pub next_cursor: Option<String>,
}

/// `at` or `at_local` only where the act is booked at another time than was told.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"choice": "drop", "note": "Told twice: the lead had entered it already"}))]
pub struct SettlementBody {
    pub choice: ChoiceName,
    #[schema(value_type = Option<text::Instant>)]
    pub at: Option<Instant>,
    pub at_local: Option<AtLocal>,
    #[schema(value_type = Option<text::Note>)]
    pub note: Option<NoteText>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = SettlementChoice)]
pub enum ChoiceName {
    /// It did happen.
    Book,
    /// It did not happen, or the book has it already.
    Drop,
}

/// What became of a parked act.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Settled, example = json!({"id": "01936b5e-5c00-7000-8000-000000000a01", "how": "dropped", "entries": [45],
    "warnings": []}))]
pub struct SettledDto {
    #[schema(value_type = uuid::Uuid)]
    pub id: ParkedId,
    pub how: SettledName,
    /// That settle it, and book it where it is booked.
    #[schema(max_items = 100, value_type = Vec<text::Seq>)]
    pub entries: Vec<Seq>,
    /// The rules that it was against.
    #[schema(max_items = 10)]
    pub warnings: Vec<WarningDto>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = SettledHow)]
pub enum SettledName {
    Booked,
    Dropped,
}

/// Something happened against a rule. It is booked like anything that happened.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Deviation)]
pub struct DeviationDto {
    /// The entry that says so.
    #[schema(value_type = text::Seq)]
    pub seq: Seq,
    #[schema(value_type = text::RuleCode)]
    pub rule: String,
    #[schema(value_type = text::Sentence)]
    pub detail: String,
    #[schema(value_type = text::Sentence)]
    pub act: String,
    #[schema(value_type = Option<uuid::Uuid>)]
    pub pallet: Option<PalletId>,
    #[schema(value_type = Option<uuid::Uuid>)]
    pub load: Option<LoadId>,
    #[schema(value_type = Option<uuid::Uuid>)]
    pub run: Option<RunId>,
    /// Its load is held; null: it is not, or no more.
    #[schema(value_type = Option<uuid::Uuid>)]
    pub hold: Option<HoldId>,
    #[schema(value_type = text::Instant)]
    pub at: Instant,
    #[schema(value_type = text::ActorName)]
    pub told_by: String,
    #[schema(value_type = text::Instant)]
    pub recorded_at: Instant,
}

/// A page of deviations.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"items": [], "next_cursor": null}))]
pub struct DeviationPage {
    #[schema(max_items = 200)]
    pub items: Vec<DeviationDto>,
    /// Null on the last page.
    #[schema(value_type = Option<text::Cursor>)]
    pub next_cursor: Option<String>,
}

impl ActName {
    const fn of(act: &Act) -> Self {
        match act {
            Act::Mount { .. } => Self::Mount,
            Act::FinishSetup { .. } => Self::FinishSetup,
            Act::Unmount { .. } => Self::Unmount,
            Act::Load { .. } => Self::Load,
            Act::Move { .. } => Self::Move,
            Act::Start { .. } => Self::Start,
            Act::Pause { .. } => Self::Pause,
            Act::Resume { .. } => Self::Resume,
            Act::Finish { .. } => Self::Finish,
            Act::Abort { .. } => Self::Abort,
            Act::Unload { .. } => Self::Unload,
            Act::Hold { .. } => Self::Hold,
        }
    }
}

impl ParkedActDto {
    pub fn of(parked: &Parked, shop: &Shop, now: Timestamp) -> Self {
        let run = parked.act.run();
        let known_run = run.and_then(|run| shop.runs.get(&run));
        let against_now = now_against(shop, parked, now).map(|refusal| AgainstDto {
            code: refusal.code().to_owned(),
            detail: refusal.to_string(),
        });
        Self {
            id: parked.id,
            act: ActName::of(&parked.act),
            at: parked.act.at().into(),
            pallet: parked.act.pallet().or(known_run.map(|run| run.pallet)),
            machine: parked.act.machine().or(known_run.map(|run| run.machine)),
            run,
            told_by: parked.told_by.to_string(),
            recorded_at: parked.recorded_at.into(),
            against_then: AgainstDto {
                code: parked.code.clone(),
                detail: parked.detail.clone(),
            },
            against_now,
            changed_seq: parked.seq,
        }
    }
}

impl DeviationDto {
    pub fn of(deviation: &Deviation, shop: &Shop) -> Self {
        let of_load = |hold: &&spindlebook_domain::load::Hold| Some(hold.load) == deviation.load;
        Self {
            seq: deviation.seq,
            rule: deviation.rule.clone(),
            detail: deviation.detail.clone(),
            act: deviation.act.clone(),
            pallet: deviation.pallet,
            load: deviation.load,
            run: deviation.run,
            hold: shop.holds.values().find(of_load).map(|hold| hold.id),
            at: deviation.at.into(),
            told_by: deviation.told_by.to_string(),
            recorded_at: deviation.recorded_at.into(),
        }
    }
}

/// The answer to an act that had to be parked; `None`: it was booked.
pub fn parked(accepted: &Accepted<'_>) -> Option<Reply> {
    let recorded = accepted.entries.first()?;
    let Event::ActParked(event) = &recorded.event else {
        return None;
    };
    let parked = accepted.shop.parked.get(&event.parked)?;
    let shown = ParkedActDto::of(parked, accepted.shop, recorded.entry.envelope.recorded_at);
    let location = format!("/v1/parked-acts/{}", parked.id);
    Some(Reply::parked(location, &shown).at(parked.seq))
}

/// The rules that an act was against.
pub fn deviations(accepted: &Accepted<'_>) -> Vec<WarningDto> {
    let entries = accepted.entries.iter();
    let own = entries.take_while(|recorded| !recorded.settles_by_itself());
    let deviation = own.filter_map(|recorded| match &recorded.event {
        Event::DeviationRecorded(event) => Some(WarningDto {
            code: WarningCode::Deviation,
            detail: format!("{}: {}", event.rule, event.detail),
        }),
        _ => None,
    });
    deviation.collect()
}
