use crate::http::command::{Accepted, Reply};
use crate::http::instant::{AtLocal, Instant};
use crate::http::late::dto::deviations;
use crate::http::machines::dto::NoteText;
use crate::http::pallets::acted::WarningDto;
use crate::http::pallets::load_dto::{ClampedDto, OverrideBody};
use crate::http::text;
use serde::{Deserialize, Serialize};
use spindlebook_domain::ids::{HoldId, LoadId, MachineId, PalletId, RunId, Seq, SetupId};
use spindlebook_domain::run::{AbortReason, PauseReason, Purpose, Run, RunState};
use spindlebook_domain::shop::Shop;
use spindlebook_domain::time::US_PER_SECOND;
use utoipa::ToSchema;

/// One passage of a load through a spindle.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Run, example = json!({"id": "01936b5e-5c00-7000-8000-000000000701", "machine": "01936b5e-5c00-7000-8000-0000000000a1",
    "pallet": "01936b5e-5c00-7000-8000-000000000301", "setup": "01936b5e-5c00-7000-8000-000000000501",
    "load": "01936b5e-5c00-7000-8000-000000000601", "purpose": "production", "started_at": "2026-11-02T07:30:00Z",
    "cycle_s": 600, "state": "running", "paused_at": null, "pause_reason": null, "ended_at": null,
    "abort_reason": null, "stopped_s": 0, "unattended": false, "hold": null, "pieces": [], "changed_seq": 44,
    "warnings": []}))]
pub struct RunDto {
    #[schema(value_type = uuid::Uuid)]
    pub id: RunId,
    #[schema(value_type = uuid::Uuid)]
    pub machine: MachineId,
    #[schema(value_type = uuid::Uuid)]
    pub pallet: PalletId,
    #[schema(value_type = uuid::Uuid)]
    pub setup: SetupId,
    #[schema(value_type = uuid::Uuid)]
    pub load: LoadId,
    #[schema(value_type = text::Purpose)]
    pub purpose: Purpose,
    #[schema(value_type = text::Instant)]
    pub started_at: Instant,
    /// How long the programs take by the routing.
    pub cycle_s: u64,
    pub state: RunStateName,
    #[schema(value_type = Option<text::Instant>)]
    pub paused_at: Option<Instant>,
    #[schema(value_type = Option<text::PauseReason>)]
    pub pause_reason: Option<PauseReason>,
    #[schema(value_type = Option<text::Instant>)]
    pub ended_at: Option<Instant>,
    #[schema(value_type = Option<text::AbortReason>)]
    pub abort_reason: Option<AbortReason>,
    /// How long it stood, in pauses that have ended.
    pub stopped_s: i64,
    /// By the cell's calendar nobody was there when it started.
    pub unattended: bool,
    /// The hold on its load.
    #[schema(value_type = Option<uuid::Uuid>)]
    pub hold: Option<HoldId>,
    /// What the load held when it started.
    #[schema(max_items = 200)]
    pub pieces: Vec<ClampedDto>,
    /// The entry that last changed it: its version.
    #[schema(value_type = text::Seq)]
    pub changed_seq: Seq,
    /// What does not forbid the act but should be known.
    #[schema(max_items = 10)]
    pub warnings: Vec<WarningDto>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = RunState)]
pub enum RunStateName {
    Running,
    Paused,
    Finished,
    Aborted,
}

/// `at` or `at_local`; without either, now.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"purpose": "production"}))]
pub struct StartBody {
    /// An id that the caller chooses, so that acts which are kept off line can name the run; without it a new one.
    #[schema(value_type = Option<uuid::Uuid>)]
    pub run: Option<RunId>,
    /// The pallet that is meant; another one at the spindle is then a mistake. Without it the one that is there.
    #[schema(value_type = Option<uuid::Uuid>)]
    pub pallet: Option<PalletId>,
    /// Without it: rework for pieces to be reworked, else production.
    #[schema(value_type = Option<text::Purpose>)]
    pub purpose: Option<Purpose>,
    #[schema(value_type = Option<text::Instant>)]
    pub at: Option<Instant>,
    pub at_local: Option<AtLocal>,
    /// It happened before and is told now: what cannot be booked as things stand is parked, not refused.
    #[serde(default)]
    pub reported: bool,
    #[serde(default)]
    #[schema(max_items = 10)]
    pub overrides: Vec<OverrideBody>,
}

/// `at` or `at_local`; without either, now.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"reason": "alarm"}))]
pub struct PauseBody {
    #[schema(value_type = text::PauseReason)]
    pub reason: PauseReason,
    #[schema(value_type = Option<text::Instant>)]
    pub at: Option<Instant>,
    pub at_local: Option<AtLocal>,
    /// It happened before and is told now: what cannot be booked as things stand is parked, not refused.
    #[serde(default)]
    pub reported: bool,
}

/// `at` or `at_local`; without either, now.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"reason": "tool", "note": "Drill broke in the second face"}))]
pub struct AbortBody {
    #[schema(value_type = text::AbortReason)]
    pub reason: AbortReason,
    #[schema(value_type = Option<text::Instant>)]
    pub at: Option<Instant>,
    pub at_local: Option<AtLocal>,
    /// It happened before and is told now: what cannot be booked as things stand is parked, not refused.
    #[serde(default)]
    pub reported: bool,
    #[schema(value_type = Option<text::Note>)]
    pub note: Option<NoteText>,
}

impl RunDto {
    pub fn of(run: &Run, shop: &Shop, warnings: Vec<WarningDto>) -> Self {
        let load = shop
            .pallets
            .get(&run.pallet)
            .and_then(|pallet| pallet.load.as_ref());
        let (state, paused, aborted) = match run.state {
            RunState::Running => (RunStateName::Running, None, None),
            RunState::Paused { at, reason } => (RunStateName::Paused, Some((at, reason)), None),
            RunState::Finished { .. } => (RunStateName::Finished, None, None),
            RunState::Aborted { reason, .. } => (RunStateName::Aborted, None, Some(reason)),
        };
        Self {
            id: run.id,
            machine: run.machine,
            pallet: run.pallet,
            setup: run.setup,
            load: run.load,
            purpose: run.purpose,
            started_at: run.started_at.into(),
            cycle_s: run.cycle_s,
            state,
            paused_at: paused.map(|(at, _)| at.into()),
            pause_reason: paused.map(|(_, reason)| reason),
            ended_at: run.ended_at().map(Instant),
            abort_reason: aborted,
            stopped_s: run.stopped_us / US_PER_SECOND,
            unattended: run.unattended,
            hold: load.filter(|load| load.id == run.load).and_then(|load| load.hold),
            pieces: run.clamped.iter().map(|one| ClampedDto::of(one, shop)).collect(),
            changed_seq: run.changed_seq,
            warnings,
        }
    }
}

/// The answer to an act on a run: the run as it is now.
pub fn acted(accepted: &Accepted<'_>, run: RunId) -> Option<Reply> {
    let run = accepted.shop.runs.get(&run)?;
    let warnings = deviations(accepted);
    Some(Reply::ok(&RunDto::of(run, accepted.shop, warnings)).at(run.changed_seq))
}
