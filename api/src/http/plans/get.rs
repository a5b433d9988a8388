use super::dto::{PlanDto, PlanWithSlotsDto, SlotDto};
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::ledger::entry_at;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;
use actix_web::web::Path;
use spindlebook_domain::event::Event;
use spindlebook_domain::ids::PlanId;
use spindlebook_domain::plan::{Plan, PlanRefusal};
use spindlebook_domain::refusal::Refusal;
use uuid::Uuid;

/// Get a plan with its slots
#[utoipa::path(
    operation_id = "getPlan",
    tag = "Plans",
    params(("id" = Uuid, Path, description = "The plan")),
    responses((status = 200, description = "The plan and its slots", body = PlanWithSlotsDto))
)]
#[get("/v1/plans/{id}")]
pub async fn get_plan(ask: Ask<op::GetPlan>, id: Path<Uuid>) -> Result<Shown, Problem> {
    let plan = PlanId(id.into_inner());
    let unknown = || Problem::from(Refusal::from(PlanRefusal::Unknown { plan }));
    with_slots(&ask, ask.shop.plans.get(&plan).ok_or_else(unknown)?).await
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
    let slots = posted.slots.iter().map(SlotDto::from).collect();
    let plan = PlanDto::from(plan);
    let version = plan.version();
    Ok(Shown::new(&PlanWithSlotsDto { plan, slots })?.at(version))
}
