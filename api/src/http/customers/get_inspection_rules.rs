use super::inspection_dto::InspectionRulesDto;
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::find;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;
use actix_web::web::Path;
use spindlebook_domain::ids::CustomerId;
use uuid::Uuid;

/// Get what a customer asks of inspections
#[utoipa::path(
    operation_id = "getInspectionRules",
    tag = "Customers",
    params(("id" = Uuid, Path, description = "The customer")),
    responses((status = 200, description = "The rules", body = InspectionRulesDto))
)]
#[get("/v1/customers/{id}/inspection-rules")]
pub async fn get_inspection_rules(
    ask: Ask<op::GetInspectionRules>,
    id: Path<Uuid>,
) -> Result<Shown, Problem> {
    let customer = find::customer_at(&ask.shop, CustomerId(id.into_inner()))?;
    Ok(Shown::new(&InspectionRulesDto::of(customer))?.at(customer.inspection_changed_seq))
}
