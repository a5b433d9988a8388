use super::inspection_dto::{InspectionRulesBody, InspectionRulesDto};
use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply};
use actix_web::put;
use actix_web::web::Path;
use spindlebook_domain::ids::CustomerId;
use uuid::Uuid;

/// Set what a customer asks of inspections
///
/// When a first piece, a first article or a piece on the way is looked at, and who may decide about it. All rules are
/// replaced.
#[utoipa::path(
    operation_id = "setInspectionRules",
    tag = "Customers",
    params(("id" = Uuid, Path, description = "The customer")),
    request_body = InspectionRulesBody,
    responses((status = 200, description = "The rules as they are now", body = InspectionRulesDto))
)]
#[put("/v1/customers/{id}/inspection-rules")]
pub async fn set_inspection_rules(
    act: Act<op::SetInspectionRules, InspectionRulesBody>,
    id: Path<Uuid>,
) -> Outcome {
    let customer = CustomerId(id.into_inner());
    let expected = act.draft.if_match()?;
    let command = act.body.into_command(customer, expected);
    act.draft
        .submit(command, move |accepted| {
            let customer = accepted.shop.customers.get(&customer)?;
            Some(Reply::ok(&InspectionRulesDto::of(customer)).at(customer.inspection_changed_seq))
        })
        .await
}
