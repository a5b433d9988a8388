use super::{
    AddCustomer, CUSTOMERS_MAX, ChangeCustomer, Customer, CustomerAdded, CustomerChanged, CustomerFacts,
    CustomerRefusal,
};
use crate::code::Code;
use crate::ids::CustomerId;
use crate::shared_map::SharedMap;

type Customers = SharedMap<CustomerId, Customer>;

pub fn add(customers: &Customers, command: &AddCustomer) -> Result<CustomerAdded, CustomerRefusal> {
    is_possible(&command.facts)?;
    if customers.get(&command.customer).is_some() {
        return Err(CustomerRefusal::IdTaken {
            customer: command.customer,
        });
    }
    code_is_free(customers, &command.facts.code, command.customer)?;
    if customers.len() >= CUSTOMERS_MAX {
        return Err(CustomerRefusal::TooMany { max: CUSTOMERS_MAX });
    }
    Ok(CustomerAdded {
        customer: command.customer,
        facts: command.facts.clone(),
    })
}

pub fn change(customers: &Customers, command: &ChangeCustomer) -> Result<CustomerChanged, CustomerRefusal> {
    let customer = customers.get(&command.customer).ok_or(CustomerRefusal::Unknown {
        customer: command.customer,
    })?;
    match command.expected {
        Some(expected) if expected != customer.changed_seq => {
            return Err(CustomerRefusal::Stale {
                expected,
                current: customer.changed_seq,
            });
        }
        _ => {}
    }
    is_possible(&command.facts)?;
    code_is_free(customers, &command.facts.code, customer.id)?;
    Ok(CustomerChanged {
        customer: customer.id,
        facts: command.facts.clone(),
    })
}

fn is_possible(facts: &CustomerFacts) -> Result<(), CustomerRefusal> {
    let both = [
        ("/over_percent", facts.over_percent),
        ("/under_percent", facts.under_percent),
    ];
    match both.into_iter().find(|(_, percent)| *percent > 100) {
        Some((field, percent)) => Err(CustomerRefusal::BadPercent {
            field: field.to_owned(),
            percent: u32::from(percent),
        }),
        None => Ok(()),
    }
}

fn code_is_free(customers: &Customers, code: &Code, own: CustomerId) -> Result<(), CustomerRefusal> {
    let taken = customers
        .values()
        .find(|customer| customer.id != own && customer.facts.code.is_spoken_like(code));
    match taken {
        Some(customer) => Err(CustomerRefusal::CodeTaken {
            code: code.clone(),
            customer: customer.id,
        }),
        None => Ok(()),
    }
}
