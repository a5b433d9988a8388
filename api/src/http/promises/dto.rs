use crate::http::instant::Instant;
use crate::http::plans::asked_line::AskedLineBody;
use crate::http::plans::dto::{DueTimeBody, SearchBody};
use crate::http::plans::schedule_dto::PlanReasonDto;
use crate::http::text;
use crate::http::whole::Whole;
use crate::planning::Ground;
use serde::{Deserialize, Serialize};
use spindlebook_domain::ids::Seq;
use spindlebook_domain::plan::promise::{Promise, Spread};
use utoipa::ToSchema;

/// An order that is not entered.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = PromiseRequest, example = json!({"lines": [{"part": "01936b5e-5c00-7000-8000-000000000501", "quantity": 24},
    {"operations": [{"number": 10, "cell": "01936b5e-5c00-7000-8000-0000000000c1", "cycle_s": 2880, "pieces_per_load": 4,
    "load_s": 600, "unload_s": 300}, {"number": 20, "lead_days": 5}], "quantity": 12}], "samples": 50,
    "search": {"iterations": 200}}))]
pub struct PromiseBody {
    #[schema(min_items = 1, max_items = 50)]
    pub lines: Vec<AskedLineBody>,
    /// Lines of the shop that were promised for a time of day; all others count until the end of their day.
    #[serde(default)]
    #[schema(max_items = 1_000)]
    pub due_times: Vec<DueTimeBody>,
    /// How often past runs are drawn from: 200 without it.
    pub samples: Option<Whole<1, 10_000>>,
    /// For each line; one second without it.
    #[schema(inline)]
    pub search: Option<SearchBody>,
}

/// When an order could be there.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Promise, example = json!({"as_of": "2026-11-02T10:00:00Z", "seq": 41, "past_runs": 412, "own_speed_per_mille": 1084,
    "samples": 200, "lines": [], "at_planned_speed": "2026-11-06T14:00:00Z", "at_own_speed": "2026-11-09T09:30:00Z",
    "p50": "2026-11-09T10:00:00Z", "p90": "2026-11-10T13:00:00Z"}))]
pub struct PromiseDto {
    #[schema(value_type = text::Instant)]
    pub as_of: Instant,
    /// The entry that it was computed from.
    #[schema(value_type = text::Seq)]
    pub seq: Seq,
    /// Production runs of the last 90 days. Without any, runs take what is planned.
    pub past_runs: u64,
    /// How long these took on average, stops included, in thousandths of what was planned; null without any.
    pub own_speed_per_mille: Option<u64>,
    pub samples: u64,
    /// In the order in which they were asked.
    #[schema(max_items = 50)]
    pub lines: Vec<PromisedLineDto>,
    /// Of the latest line; null: some line is not done within a year.
    #[schema(value_type = Option<text::Instant>)]
    pub at_planned_speed: Option<Instant>,
    #[schema(value_type = Option<text::Instant>)]
    pub at_own_speed: Option<Instant>,
    #[schema(value_type = Option<text::Instant>)]
    pub p50: Option<Instant>,
    #[schema(value_type = Option<text::Instant>)]
    pub p90: Option<Instant>,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(as = PromisedLine)]
pub struct PromisedLineDto {
    pub quantity: u32,
    /// If every run takes what is planned; null: not within a year.
    #[schema(value_type = Option<text::Instant>)]
    pub at_planned_speed: Option<Instant>,
    /// If every run takes what past runs took on average.
    #[schema(value_type = Option<text::Instant>)]
    pub at_own_speed: Option<Instant>,
    /// Half of the samples are done by then.
    #[schema(value_type = Option<text::Instant>)]
    pub p50: Option<Instant>,
    /// Nine of ten samples are done by then.
    #[schema(value_type = Option<text::Instant>)]
    pub p90: Option<Instant>,
    /// What its first load waits for; null: nothing.
    pub limited_by: Option<PlanReasonDto>,
}

impl PromisedLineDto {
    pub fn of(quantity: u32, promise: &Promise) -> Self {
        Self {
            quantity,
            at_planned_speed: promise.at_planned_speed.map(Instant::from),
            at_own_speed: promise.at_own_speed.map(Instant::from),
            p50: promise.p50.map(Instant::from),
            p90: promise.p90.map(Instant::from),
            limited_by: promise.limited_by.as_ref().map(PlanReasonDto::from),
        }
    }
}

impl PromiseDto {
    pub fn of(ground: &Ground, spread: &Spread, samples: usize, lines: Vec<PromisedLineDto>) -> Self {
        let latest = |of: fn(&PromisedLineDto) -> Option<Instant>| {
            let all: Option<Vec<_>> = lines.iter().map(of).collect();
            all.and_then(|all| all.into_iter().max())
        };
        let past_runs = spread.per_mille.len() as u64;
        let taken: u64 = spread.per_mille.iter().map(|one| u64::from(*one)).sum();
        Self {
            as_of: ground.now.into(),
            seq: ground.shop.seq,
            past_runs,
            own_speed_per_mille: (past_runs > 0).then(|| (taken + past_runs / 2) / past_runs.max(1)),
            samples: samples as u64,
            at_planned_speed: latest(|line| line.at_planned_speed),
            at_own_speed: latest(|line| line.at_own_speed),
            p50: latest(|line| line.p50),
            p90: latest(|line| line.p90),
            lines,
        }
    }
}
