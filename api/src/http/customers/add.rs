use super::dto::{CustomerBody, CustomerDto};
use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply, new_id};
use actix_web::post;
use spindlebook_domain::ids::CustomerId;

/// Add a customer
#[utoipa::path(
    operation_id = "addCustomer",
    tag = "Customers",
    request_body = CustomerBody,
    responses((status = 201, description = "The new customer", body = CustomerDto))
)]
#[post("/v1/customers")]
pub async fn add_customer(act: Act<op::AddCustomer, CustomerBody>) -> Outcome {
    let customer = CustomerId(new_id());
    let command = act.body.into_command(customer);
    act.draft
        .submit(command, move |accepted| {
            let customer = accepted.shop.customers.get(&customer)?;
            let location = format!("/v1/customers/{}", customer.id);
            Some(Reply::created(location, &CustomerDto::of(customer, accepted.shop)).at(customer.changed_seq))
        })
        .await
}
