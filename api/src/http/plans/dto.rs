use crate::http::instant::Instant;
use crate::http::text;
use crate::http::whole::Whole;
use serde::{Deserialize, Serialize};
use spindlebook_domain::ids::{MachineId, PlanId, Seq};
use spindlebook_domain::plan::{Plan, PlanStanding, PostPlan, Slot};
use utoipa::ToSchema;

/// A plan without its slots.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Plan, example = json!({"id": "01936b5e-5c00-7000-8000-0000000000f1", "posted_at": "2026-11-02T05:00:00Z",
    "posted_seq": 40, "slot_count": 1, "standing": "published",
    "published_at": "2026-11-02T05:01:00Z", "published_seq": 41}))]
pub struct PlanDto {
    #[schema(value_type = uuid::Uuid)]
    pub id: PlanId,
    #[schema(value_type = text::Instant)]
    pub posted_at: Instant,
    #[schema(value_type = text::Seq)]
    pub posted_seq: Seq,
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
    Posted,
    Published,
}

/// A plan with its slots, in the order of machine and start.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = PlanWithSlots, example = json!({"plan": {"id": "01936b5e-5c00-7000-8000-0000000000f1", "posted_at": "2026-11-02T05:00:00Z",
    "posted_seq": 40, "slot_count": 1, "standing": "published",
    "published_at": "2026-11-02T05:01:00Z", "published_seq": 41},
    "slots": [{"machine": "01936b5e-5c00-7000-8000-0000000000a1",
    "starts_at": "2026-11-02T06:00:00Z", "cycle_s": 3720}]}))]
pub struct PlanWithSlotsDto {
    pub plan: PlanDto,
    #[schema(max_items = 5_000)]
    pub slots: Vec<SlotDto>,
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

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"slots": [{"machine": "01936b5e-5c00-7000-8000-0000000000a1",
    "starts_at": "2026-11-02T06:00:00Z", "cycle_s": 3720}]}))]
pub struct PlanBody {
    /// No two of a machine may overlap. None at all is a plan too: nothing is meant to run.
    #[schema(max_items = 5_000)]
    pub slots: Vec<SlotBody>,
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

impl PlanBody {
    pub fn into_command(self, plan: PlanId) -> PostPlan {
        let slots = self.slots.into_iter().map(|slot| Slot {
            machine: slot.machine,
            starts_at: slot.starts_at.0,
            cycle_s: slot.cycle_s.to(),
        });
        PostPlan {
            plan,
            slots: slots.collect(),
        }
    }
}

impl PlanDto {
    /// The entry that last changed it.
    pub fn version(&self) -> Seq {
        self.published_seq.unwrap_or(self.posted_seq)
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
            posted_at: plan.posted_at.into(),
            posted_seq: plan.posted_seq,
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
