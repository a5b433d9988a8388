use super::computing::{Computing, begin};
use super::dto::{PlanBody, PlanDto};
use crate::auth::op;
use crate::http::body::invalid;
use crate::http::command::{Act, Answered, Reply, new_id};
use crate::http::computations::dto::ComputationDto;
use crate::planning::Planning;
use crate::problem::{FieldError, Place, Problem};
use actix_web::body::BoxBody;
use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, Responder, post};
use spindlebook_domain::ids::PlanId;
use spindlebook_domain::plan::{PostPlan, Slot};

/// A plan from elsewhere is in the ledger at once; one from here is being computed.
#[derive(Debug)]
pub enum PlanAnswer {
    Posted(Answered),
    Computing(Computing),
}

impl Responder for PlanAnswer {
    type Body = BoxBody;

    fn respond_to(self, request: &HttpRequest) -> HttpResponse {
        match self {
            Self::Posted(answered) => answered.respond_to(request),
            Self::Computing(computing) => computing.respond_to(request),
        }
    }
}

/// Have a plan computed, or post one
///
/// With `slots` the plan was made elsewhere: it is posted as it stands. Without, one is computed from the shop as it
/// stands now, in the background: `Location` says where its progress can be seen, and the plan will have the same id.
/// Either counts for nothing until it is published.
#[utoipa::path(
    operation_id = "postPlan",
    tag = "Plans",
    request_body = PlanBody,
    responses(
        (status = 201, description = "The new plan, without its slots", body = PlanDto),
        (status = 202, description = "It is being computed", body = ComputationDto)
    )
)]
#[post("/v1/plans")]
pub async fn post_plan(
    act: Act<op::PostPlan, PlanBody>,
    planning: Data<Planning>,
) -> Result<PlanAnswer, Problem> {
    let Act { caller, body, draft } = act;
    let Some(slots) = body.slots else {
        let computing = begin(&caller, &draft, body, &planning).await?;
        return Ok(PlanAnswer::Computing(computing));
    };
    if body.horizon_s.is_some() || body.search.is_some() || !body.due_times.is_empty() {
        let detail =
            "a plan either comes with its slots or is computed: leave out `slots`, or everything else";
        return Err(invalid(FieldError::at(
            Place::pointer("/slots"),
            "not_together",
            detail,
        )));
    }
    let plan = PlanId(new_id());
    let command = PostPlan {
        plan,
        slots: slots.into_iter().map(Slot::from).collect(),
    };
    let answered = draft.submit(command, move |accepted| {
        let plan = PlanDto::from(accepted.shop.plans.get(&plan)?);
        Some(Reply::created(format!("/v1/plans/{}", plan.id), &plan).at(plan.version()))
    });
    Ok(PlanAnswer::Posted(answered.await?))
}
