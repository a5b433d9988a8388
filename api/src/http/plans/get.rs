use super::dto::{PlanDto, PlanWithSlotsDto, SlotDto};
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::ledger::entry_at;
use crate::http::shown::Shown;
use crate::planning::Publishable;
use crate::problem::Problem;
use actix_web::get;
use actix_web::web::Path;
use serde_json::value::RawValue;
use spindlebook_domain::event::Event;
use spindlebook_domain::ids::PlanId;
use spindlebook_domain::plan::{Plan, PlanRefusal};
use spindlebook_domain::refusal::Refusal;
use spindlebook_store::computation::{self, Found};
use uuid::Uuid;

/// Get a plan with its slots
///
/// And, if it was computed here, with its whole schedule.
#[utoipa::path(
    operation_id = "getPlan",
    tag = "Plans",
    params(("id" = Uuid, Path, description = "The plan")),
    responses((status = 200, description = "The plan and its slots", body = PlanWithSlotsDto))
)]
#[get("/v1/plans/{id}")]
pub async fn get_plan(ask: Ask<op::GetPlan>, id: Path<Uuid>) -> Result<Shown, Problem> {
    let plan = PlanId(id.into_inner());
    if let Some(plan) = ask.shop.plans.get(&plan) {
        return with_slots(&ask, plan).await;
    }
    let unknown = || Problem::from(Refusal::from(PlanRefusal::Unknown { plan }));
    let mut session = ask.book.store().session().await?;
    let computed = computation::find(&mut session, ask.caller.site, plan).await?;
    let computed = computed.ok_or_else(unknown)?;
    let found = computation::found(&mut session, ask.caller.site, plan).await?;
    let found = found.ok_or_else(unknown)?;
    let posted = publishable(&found)?;
    let at = computed.ended_at.unwrap_or(computed.beat_at);
    let dto = PlanWithSlotsDto {
        plan: PlanDto::computed(plan, at, posted.slots().len()),
        slots: posted.slots().iter().map(SlotDto::from).collect(),
        schedule: Some(raw(found.result)?),
    };
    Ok(Shown::new(&dto)?.at(0))
}

pub fn publishable(found: &Found) -> Result<Publishable, Problem> {
    serde_json::from_str(&found.plan).map_err(|error| Problem::fault(&error))
}

fn raw(json: String) -> Result<Box<RawValue>, Problem> {
    RawValue::from_string(json).map_err(|error| Problem::fault(&error))
}

/// The slots stand in the entry that posted them.
pub async fn with_slots<O>(ask: &Ask<O>, plan: &Plan) -> Result<Shown, Problem> {
    let entry = entry_at(ask, plan.posted_seq).await?;
    let envelope = &entry.envelope;
    let event = Event::decode(&envelope.kind, envelope.schema, &entry.payload);
    let Event::PlanPosted(posted) = event.map_err(|unreadable| Problem::fault(&unreadable))? else {
        return Err(Problem::fault(&format!(
            "entry {} posted no plan",
            plan.posted_seq
        )));
    };
    let mut session = ask.book.store().session().await?;
    let computed = computation::find(&mut session, ask.caller.site, plan.id).await?;
    let found = computation::found(&mut session, ask.caller.site, plan.id).await?;
    let schedule = found.map(|found| raw(found.result)).transpose()?;
    let plan = PlanDto {
        computed_at: computed.and_then(|computed| computed.ended_at).map(Into::into),
        ..PlanDto::from(plan)
    };
    let version = plan.version();
    let dto = PlanWithSlotsDto {
        plan,
        slots: posted.slots.iter().map(SlotDto::from).collect(),
        schedule,
    };
    Ok(Shown::new(&dto)?.at(version))
}
