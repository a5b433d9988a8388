use super::dto::{CustomerBody, CustomerDto};
use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply};
use actix_web::put;
use actix_web::web::Path;
use spindlebook_domain::ids::CustomerId;
use uuid::Uuid;

/// Change a customer
///
/// All its fields are replaced.
#[utoipa::path(
    operation_id = "changeCustomer",
    tag = "Customers",
    params(("id" = Uuid, Path, description = "The customer")),
    request_body = CustomerBody,
    responses((status = 200, description = "The customer as it is now", body = CustomerDto))
)]
#[put("/v1/customers/{id}")]
pub async fn change_customer(act: Act<op::ChangeCustomer, CustomerBody>, id: Path<Uuid>) -> Outcome {
    let customer = CustomerId(id.into_inner());
    let expected = act.draft.if_match()?;
    let command = act.body.into_change(customer, expected);
    act.draft
        .submit(command, move |accepted| {
            let customer = accepted.shop.customers.get(&customer)?;
            Some(Reply::ok(&CustomerDto::of(customer, accepted.shop)).at(customer.changed_seq))
        })
        .await
}
