use super::dto::CustomerDto;
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::find;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;
use actix_web::web::Path;
use spindlebook_domain::ids::CustomerId;
use uuid::Uuid;

/// Get a customer
#[utoipa::path(
    operation_id = "getCustomer",
    tag = "Customers",
    params(("id" = Uuid, Path, description = "The customer")),
    responses((status = 200, description = "The customer", body = CustomerDto))
)]
#[get("/v1/customers/{id}")]
pub async fn get_customer(ask: Ask<op::GetCustomer>, id: Path<Uuid>) -> Result<Shown, Problem> {
    let customer = find::customer_at(&ask.shop, CustomerId(id.into_inner()))?;
    Ok(Shown::new(&CustomerDto::of(customer, &ask.shop))?.at(customer.changed_seq))
}
