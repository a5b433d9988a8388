use crate::http::body::invalid;
use crate::http::instant::Instant;
use crate::http::text;
use crate::http::whole::{EXACT_MAX, Whole};
use crate::planning::{DueTime, Search};
use crate::problem::{FieldError, Place, Problem};
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;
use spindlebook_domain::ids::{MachineId, OrderId, PlanId, Seq};
use spindlebook_domain::plan::{Plan, PlanStanding, Slot};
use spindlebook_domain::shop::Shop;
use spindlebook_domain::time::Timestamp;
use utoipa::ToSchema;

/// A plan without its slots.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Plan, example = json!({"id": "01936b5e-5c00-7000-8000-0000000000f1", "computed_at": null,
    "posted_at": "2026-11-02T05:00:00Z", "posted_seq": 40, "slot_count": 1, "standing": "published",
    "published_at": "2026-11-02T05:01:00Z", "published_seq": 41}))]
pub struct PlanDto {
    #[schema(value_type = uuid::Uuid)]
    pub id: PlanId,
    /// Null: it was made elsewhere, or it is not known here any more.
    #[schema(value_type = Option<text::Instant>)]
    pub computed_at: Option<Instant>,
    /// Null: it is not in the ledger; it gets there when it is published.
    #[schema(value_type = Option<text::Instant>)]
    pub posted_at: Option<Instant>,
    #[schema(value_type = Option<text::Seq>)]
    pub posted_seq: Option<Seq>,
    #[schema(maximum = 5_000)]
    pub slot_count: u32,
    pub standing: PlanStandingName,
    /// In force from then on, until the next one is published.
    #[schema(value_type = Option<text::Instant>)]
    pub published_at: Option<Instant>,
    #[schema(value_type = Option<text::Seq>)]
    pub published_seq: Option<Seq>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = PlanStanding)]
pub enum PlanStandingName {
    /// It counts for nothing and is kept for some time.
    Computed,
    Posted,
    Published,
}

/// A plan with its slots, in the order of machine and start.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = PlanWithSlots, example = json!({"plan": {"id": "01936b5e-5c00-7000-8000-0000000000f1", "computed_at": null,
    "posted_at": "2026-11-02T05:00:00Z", "posted_seq": 40, "slot_count": 1, "standing": "published",
    "published_at": "2026-11-02T05:01:00Z", "published_seq": 41},
    "slots": [{"machine": "01936b5e-5c00-7000-8000-0000000000a1",
    "starts_at": "2026-11-02T06:00:00Z", "cycle_s": 3720}], "schedule": null}))]
pub struct PlanWithSlotsDto {
    pub plan: PlanDto,
    #[schema(max_items = 5_000)]
    pub slots: Vec<SlotDto>,
    /// What it means for every cell, load and line. Null: the plan was made elsewhere, or too long ago.
    #[schema(value_type = Option<super::schedule_dto::ScheduleDto>)]
    pub schedule: Option<Box<RawValue>>,
}

/// The machine is meant to be in cycle for `cycle_s` from `starts_at`.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Slot)]
pub struct SlotDto {
    #[schema(value_type = uuid::Uuid)]
    pub machine: MachineId,
    #[schema(value_type = text::Instant)]
    pub starts_at: Instant,
    #[schema(minimum = 1, maximum = 604_800)]
    pub cycle_s: u32,
}

/// A plan that was made elsewhere (`slots`), or how one is to be computed (everything else, all of it optional).
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"slots": [{"machine": "01936b5e-5c00-7000-8000-0000000000a1",
    "starts_at": "2026-11-02T06:00:00Z", "cycle_s": 3720}]}))]
pub struct PlanBody {
    /// No two of a machine may overlap. None at all is a plan too: nothing is meant to run.
    #[schema(max_items = 5_000)]
    pub slots: Option<Vec<SlotBody>>,
    /// Spindle time counts until then: a week without it.
    pub horizon_s: Option<HorizonS>,
    #[schema(inline)]
    pub search: Option<SearchBody>,
    /// Lines that were promised for a time of day; all others count until the end of their day.
    #[serde(default)]
    #[schema(max_items = 1_000)]
    pub due_times: Vec<DueTimeBody>,
}

/// An hour to a month.
pub type HorizonS = Whole<3_600, 2_678_400>;

pub type Seed = Whole<0, EXACT_MAX>;

/// How long is searched.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SearchBody {
    /// Without it as long as is common for what is asked.
    pub seconds: Option<Whole<1, 600>>,
    /// So many schedules are built instead, however long that takes: the same number from the same seed gives the same
    /// plan.
    pub iterations: Option<Whole<1, 10_000_000>>,
    /// 1 without it.
    pub seed: Option<Seed>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DueTimeBody {
    #[schema(value_type = uuid::Uuid)]
    pub order: OrderId,
    pub line: Whole<1, 100_000>,
    #[schema(value_type = text::Instant)]
    pub due_at: Instant,
}

/// The machine is meant to be in cycle for `cycle_s` from `starts_at`.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SlotBody {
    #[schema(value_type = uuid::Uuid)]
    pub machine: MachineId,
    #[schema(value_type = text::Instant)]
    pub starts_at: Instant,
    pub cycle_s: Whole<1, 604_800>,
}

/// A page of plans, the newest first.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"items": [{"id": "01936b5e-5c00-7000-8000-0000000000f1", "posted_at": "2026-11-02T05:00:00Z",
    "posted_seq": 40, "slot_count": 1, "standing": "published",
    "published_at": "2026-11-02T05:01:00Z", "published_seq": 41}], "next_cursor": null}))]
pub struct PlanPage {
    #[schema(max_items = 200)]
    pub items: Vec<PlanDto>,
    /// Null on the last page.
    #[schema(value_type = Option<text::Cursor>)]
    pub next_cursor: Option<String>,
}

impl SearchBody {
    pub fn or(self, seconds: u32) -> Search {
        Search {
            seconds: self.seconds.map_or(seconds, Whole::to),
            iterations: self.iterations.map(Whole::to),
            seed: self.seed.map_or(1, Whole::to),
        }
    }
}

impl From<SlotBody> for Slot {
    fn from(slot: SlotBody) -> Self {
        Self {
            machine: slot.machine,
            starts_at: slot.starts_at.0,
            cycle_s: slot.cycle_s.to(),
        }
    }
}

/// Each names a line of the shop.
pub fn due_times(shop: &Shop, bodies: &[DueTimeBody]) -> Result<Vec<DueTime>, Problem> {
    let read = bodies.iter().enumerate().map(|(index, body)| {
        let line: u32 = body.line.to();
        let order = shop.orders.get(&body.order);
        let is_there = order.is_some_and(|order| order.lines.iter().any(|known| known.number == line));
        let due = DueTime {
            order: body.order,
            line,
            due_at: body.due_at.0,
        };
        is_there.then_some(due).ok_or_else(|| {
            let detail = format!("there is no open order {} with a line {line}", body.order);
            let place = Place::pointer(format!("/due_times/{index}/order"));
            invalid(FieldError::at(place, "unknown", detail))
        })
    });
    read.collect()
}

impl PlanDto {
    /// The entry that last changed it.
    pub fn version(&self) -> Seq {
        self.published_seq.or(self.posted_seq).unwrap_or(0)
    }

    /// One that is in no ledger yet.
    pub fn computed(plan: PlanId, at: Timestamp, slots: usize) -> Self {
        Self {
            id: plan,
            computed_at: Some(at.into()),
            posted_at: None,
            posted_seq: None,
            slot_count: u32::try_from(slots).unwrap_or(u32::MAX),
            standing: PlanStandingName::Computed,
            published_at: None,
            published_seq: None,
        }
    }
}

impl From<&Plan> for PlanDto {
    fn from(plan: &Plan) -> Self {
        let published = match plan.standing {
            PlanStanding::Posted => None,
            PlanStanding::Published { at, seq } => Some((at, seq)),
        };
        Self {
            id: plan.id,
            computed_at: None,
            posted_at: Some(plan.posted_at.into()),
            posted_seq: Some(plan.posted_seq),
            slot_count: plan.slots,
            standing: published.map_or(PlanStandingName::Posted, |_| PlanStandingName::Published),
            published_at: published.map(|(at, _)| at.into()),
            published_seq: published.map(|(_, seq)| seq),
        }
    }
}

impl From<&Slot> for SlotDto {
    fn from(slot: &Slot) -> Self {
        Self {
            machine: slot.machine,
            starts_at: slot.starts_at.into(),
            cycle_s: slot.cycle_s,
        }
    }
}
