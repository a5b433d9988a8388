use crate::http::instant::Instant;
use crate::http::plans::asked_line::AskedLineBody;
use crate::http::plans::dto::{DueTimeBody, SearchBody};
use crate::http::plans::schedule_dto::{PlannedPiecesDto, order_code, pieces};
use crate::http::site::WindowDto;
use crate::http::text;
use crate::planning::Ground;
use serde::{Deserialize, Serialize};
use spindlebook_domain::ids::{MachineId, OrderId, Seq};
use spindlebook_domain::plan::rush::{LineMoved, RushCheck, RushOption, RushPlace};
use spindlebook_domain::plan::schedule::Schedule;
use utoipa::ToSchema;

/// An order that is not entered.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = RushCheckRequest, example = json!({"lines": [{"line": {"part": "01936b5e-5c00-7000-8000-000000000501",
    "quantity": 4, "due": "2026-11-20", "priority": "rush"}}], "search": {"iterations": 200}}))]
pub struct RushBody {
    #[schema(min_items = 1, max_items = 50)]
    pub lines: Vec<RushLineBody>,
    /// Lines of the shop that were promised for a time of day; all others count until the end of their day.
    #[serde(default)]
    #[schema(max_items = 1_000)]
    pub due_times: Vec<DueTimeBody>,
    /// Two seconds without it.
    #[schema(inline)]
    pub search: Option<SearchBody>,
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = RushLine)]
pub struct RushLineBody {
    pub line: AskedLineBody,
    /// A time of day, where the end of the day that it is due is too late.
    #[schema(value_type = Option<text::Instant>)]
    pub due_at: Option<Instant>,
}

/// The choices, the first that comes before everything else.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = RushCheck, example = json!({"as_of": "2026-11-02T10:00:00Z", "seq": 41, "places": []}))]
pub struct RushCheckDto {
    #[schema(value_type = text::Instant)]
    pub as_of: Instant,
    /// The entry that it was computed from.
    #[schema(value_type = text::Seq)]
    pub seq: Seq,
    /// Two that come to the same are told once.
    #[schema(max_items = 3)]
    pub places: Vec<RushOptionDto>,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(as = RushOption)]
pub struct RushOptionDto {
    pub place: RushPlaceName,
    /// When its last line is there; null: not by this schedule.
    #[schema(value_type = Option<text::Instant>)]
    pub complete: Option<Instant>,
    /// Of its latest line.
    pub late_s: i64,
    /// Every line that is released and open; those that pay most come first.
    #[schema(max_items = 100_000)]
    pub lines: Vec<LineMovedDto>,
    /// What the spindles would cut, by machine and start.
    #[schema(max_items = 5_000)]
    pub runs: Vec<RushRunDto>,
}

/// Where the new order goes. What is in a spindle or announced as next stays before it.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = RushPlace)]
pub enum RushPlaceName {
    /// Before everything else, which keeps its order.
    First,
    /// Where all lines together are least late: everything may move.
    Best,
    /// After everything else.
    Last,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(as = LineMoved)]
pub struct LineMovedDto {
    #[schema(value_type = uuid::Uuid)]
    pub order: OrderId,
    #[schema(value_type = text::Name)]
    pub order_code: String,
    pub line: u32,
    #[schema(value_type = Option<text::Instant>)]
    pub due: Option<Instant>,
    #[schema(value_type = Option<text::Instant>)]
    pub before: Option<Instant>,
    #[schema(value_type = Option<text::Instant>)]
    pub after: Option<Instant>,
    pub late_before_s: i64,
    pub late_after_s: i64,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(as = RushRun)]
pub struct RushRunDto {
    #[schema(value_type = uuid::Uuid)]
    pub machine: MachineId,
    #[schema(max_items = 100)]
    pub pieces: Vec<PlannedPiecesDto>,
    pub run_at: WindowDto,
    /// Of the order that is asked about.
    pub is_asked: bool,
}

impl RushCheckDto {
    pub fn of(ground: &Ground, checked: &RushCheck) -> Self {
        let places = checked.places.iter();
        Self {
            as_of: ground.now.into(),
            seq: ground.shop.seq,
            places: places.map(|option| RushOptionDto::of(ground, option)).collect(),
        }
    }
}

impl RushOptionDto {
    fn of(ground: &Ground, option: &RushOption) -> Self {
        let mut lines: Vec<_> = option
            .lines
            .iter()
            .map(|line| LineMovedDto::of(ground, line))
            .collect();
        lines.sort_by_key(|line| (line.late_before_s - line.late_after_s, line.due));
        Self {
            place: match option.place {
                RushPlace::First => RushPlaceName::First,
                RushPlace::Best => RushPlaceName::Best,
                RushPlace::Last => RushPlaceName::Last,
            },
            complete: option.complete.map(Instant::from),
            late_s: option.late_s,
            lines,
            runs: runs(ground, &option.schedule),
        }
    }
}

impl LineMovedDto {
    fn of(ground: &Ground, line: &LineMoved) -> Self {
        Self {
            order: line.order,
            order_code: order_code(&ground.shop, line.order),
            line: line.line,
            due: line.due.map(Instant::from),
            before: line.before.map(Instant::from),
            after: line.after.map(Instant::from),
            late_before_s: line.late_before_s,
            late_after_s: line.late_after_s,
        }
    }
}

fn runs(ground: &Ground, schedule: &Schedule) -> Vec<RushRunDto> {
    let mut runs: Vec<_> = schedule
        .loads
        .iter()
        .filter_map(|load| {
            let is_known = |job| ground.shop.jobs.get(&job).is_some();
            Some(RushRunDto {
                machine: load.machine?,
                pieces: pieces(&ground.shop, &load.clamped),
                run_at: load.run?.into(),
                is_asked: load.clamped.iter().any(|one| !is_known(one.job)),
            })
        })
        .collect();
    runs.sort_by_key(|run| (run.machine, run.run_at.from));
    runs
}
