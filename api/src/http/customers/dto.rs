use crate::http::text;
use crate::http::whole::Whole;
use serde::{Deserialize, Serialize};
use spindlebook_domain::code::{Code, Name};
use spindlebook_domain::customer::{AddCustomer, ChangeCustomer, Customer, CustomerFacts};
use spindlebook_domain::ids::{CustomerId, Seq};
use spindlebook_domain::shop::Shop;
use utoipa::ToSchema;

/// Whoever orders, and how much more or less than ordered they take.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Customer, example = json!({"id": "01936b5e-5c00-7000-8000-000000000201", "code": "NORDWERK", "name": "Nordwerk", "over_percent": 5, "under_percent": 0, "changed_seq": 21}))]
pub struct CustomerDto {
    #[schema(value_type = uuid::Uuid)]
    pub id: CustomerId,
    #[schema(value_type = text::Code)]
    pub code: Code,
    #[schema(value_type = text::Name)]
    pub name: Name,
    /// So many per cent more than ordered may be shipped.
    pub over_percent: u8,
    /// An order counts as full with so many per cent less.
    pub under_percent: u8,
    /// The entry that last changed it: its version.
    #[schema(value_type = text::Seq)]
    pub changed_seq: Seq,
}

/// Without a tolerance exactly what was ordered is shipped.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"code": "NORDWERK", "name": "Nordwerk", "over_percent": 5}))]
pub struct CustomerBody {
    #[schema(value_type = text::Code)]
    pub code: Code,
    #[schema(value_type = text::Name)]
    pub name: Name,
    pub over_percent: Option<Whole<0, 100>>,
    pub under_percent: Option<Whole<0, 100>>,
}

/// A page of customers.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"items": [{"id": "01936b5e-5c00-7000-8000-000000000201", "code": "NORDWERK", "name": "Nordwerk", "over_percent": 5, "under_percent": 0, "changed_seq": 21}], "next_cursor": null}))]
pub struct CustomerPage {
    #[schema(max_items = 200)]
    pub items: Vec<CustomerDto>,
    /// Null on the last page.
    #[schema(value_type = Option<text::Cursor>)]
    pub next_cursor: Option<String>,
}

impl CustomerBody {
    fn facts(self) -> CustomerFacts {
        let percent = |given: Option<Whole<0, 100>>| given.map_or(0, Whole::to);
        CustomerFacts {
            over_percent: percent(self.over_percent),
            under_percent: percent(self.under_percent),
            code: self.code,
            name: self.name,
        }
    }

    pub fn into_command(self, customer: CustomerId) -> AddCustomer {
        let facts = self.facts();
        AddCustomer { customer, facts }
    }

    pub fn into_change(self, customer: CustomerId, expected: Option<Seq>) -> ChangeCustomer {
        let facts = self.facts();
        ChangeCustomer {
            customer,
            facts,
            expected,
        }
    }
}

impl CustomerDto {
    pub fn of(customer: &Customer, _: &Shop) -> Self {
        let facts = &customer.facts;
        Self {
            id: customer.id,
            code: facts.code.clone(),
            name: facts.name.clone(),
            over_percent: facts.over_percent,
            under_percent: facts.under_percent,
            changed_seq: customer.changed_seq,
        }
    }
}
