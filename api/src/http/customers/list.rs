use super::dto::{CustomerDto, CustomerPage};
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::page::{self, Listing, PageQuery};
use crate::http::parameters::Parameters;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;

/// List the customers
///
/// In the order of their codes.
#[utoipa::path(
    operation_id = "listCustomers",
    tag = "Customers",
    params(PageQuery),
    responses((status = 200, description = "A page of customers", body = CustomerPage))
)]
#[get("/v1/customers")]
pub async fn list_customers(
    ask: Ask<op::ListCustomers>,
    query: Parameters<PageQuery>,
) -> Result<Shown, Problem> {
    let Parameters(PageQuery { limit, cursor }) = query;
    let listing = Listing::of("customers", &());
    let mut customers: Vec<_> = ask.shop.customers.values().collect();
    customers.sort_by(|a, b| (&a.facts.code, a.id).cmp(&(&b.facts.code, b.id)));
    let after = listing.after(cursor.as_deref())?;
    let (items, next_cursor) = listing.page(customers, after.as_ref(), page::limit(limit), |customer| {
        (customer.facts.code.clone(), customer.id)
    })?;
    let items = items
        .into_iter()
        .map(|customer| CustomerDto::of(customer, &ask.shop))
        .collect();
    Shown::new(&CustomerPage { items, next_cursor })
}
