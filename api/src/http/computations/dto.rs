use crate::http::instant::Instant;
use crate::http::plans::schedule_dto::ObjectiveDto;
use crate::http::text;
use crate::planning::has_gone;
use serde::{Deserialize, Serialize};
use spindlebook_domain::ids::PlanId;
use spindlebook_domain::time::Timestamp;
use spindlebook_store::computation::{Computation, State};
use utoipa::ToSchema;

/// A plan that is being computed, or was.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Computation, example = json!({"id": "01936b5e-5c00-7000-8000-0000000000f1", "state": "running",
    "asked_by": "person:01936b5e-5c00-7000-8000-0000000000e1", "asked_at": "2026-11-02T05:00:00Z", "ended_at": null,
    "is_stopping": false, "best": null, "plan": null, "failure": null}))]
pub struct ComputationDto {
    #[schema(value_type = uuid::Uuid)]
    pub id: PlanId,
    pub state: ComputationState,
    #[schema(value_type = text::ActorName)]
    pub asked_by: String,
    #[schema(value_type = text::Instant)]
    pub asked_at: Instant,
    #[schema(value_type = Option<text::Instant>)]
    pub ended_at: Option<Instant>,
    /// Somebody asked it to end with the best that it has.
    pub is_stopping: bool,
    /// The best so far. Null: none yet.
    pub best: Option<ObjectiveDto>,
    /// Where its plan is, once it is done.
    #[schema(value_type = Option<text::Sentence>)]
    pub plan: Option<String>,
    /// Why there is no plan.
    #[schema(value_type = Option<text::Sentence>)]
    pub failure: Option<String>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum ComputationState {
    /// Others are before it.
    Waiting,
    Running,
    Done,
    Failed,
}

/// The newest computations.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"items": []}))]
pub struct ComputationList {
    #[schema(max_items = 50)]
    pub items: Vec<ComputationDto>,
}

#[derive(Deserialize)]
struct BestJson {
    schedules_built: u64,
    weighted_tardiness_s: i64,
    idle_spindle_s: i64,
    fixture_changes: u32,
    moved_loads: u32,
}

impl ComputationDto {
    pub fn of(computation: &Computation, now: Timestamp) -> Self {
        let is_gone = has_gone(computation, now);
        let state = match computation.state {
            _ if is_gone => ComputationState::Failed,
            State::Waiting => ComputationState::Waiting,
            State::Running => ComputationState::Running,
            State::Done => ComputationState::Done,
            State::Failed => ComputationState::Failed,
        };
        let gone = "whoever computed it has ended; ask for a new plan".to_owned();
        let is_done = state == ComputationState::Done;
        Self {
            id: computation.id,
            state,
            asked_by: computation.asked_by.clone(),
            asked_at: computation.asked_at.into(),
            ended_at: computation.ended_at.map(Instant::from),
            is_stopping: computation.stop_asked && computation.ended_at.is_none(),
            best: computation.progress.as_deref().and_then(best),
            plan: is_done.then(|| format!("/v1/plans/{}", computation.id)),
            failure: if is_gone {
                Some(gone)
            } else {
                computation.failure.clone()
            },
        }
    }
}

fn best(progress: &str) -> Option<ObjectiveDto> {
    let best: BestJson = serde_json::from_str(progress).ok()?;
    Some(ObjectiveDto {
        weighted_tardiness_s: best.weighted_tardiness_s,
        idle_spindle_s: best.idle_spindle_s,
        fixture_changes: best.fixture_changes,
        moved_loads: best.moved_loads,
        schedules_built: Some(best.schedules_built),
    })
}
