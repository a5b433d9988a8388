//! What a customer asks of inspections, set as a whole.

use super::{
    CustomerInspectionSet, InspectionRule, InspectionRuleRefusal, MONTHS_MAX, RULES_MAX,
    SetCustomerInspection,
};
use crate::customer::CustomerRefusal;
use crate::job::PIECES_MAX;
use crate::refusal::Refusal;
use crate::shop::Shop;

pub fn set(shop: &Shop, command: &SetCustomerInspection) -> Result<CustomerInspectionSet, Refusal> {
    let unknown = CustomerRefusal::Unknown {
        customer: command.customer,
    };
    let customer = shop.customers.get(&command.customer).ok_or(unknown)?;
    let current = customer.inspection_changed_seq;
    if let Some(expected) = command.expected.filter(|expected| *expected != current) {
        return Err(InspectionRuleRefusal::Stale { expected, current }.into());
    }
    let rules = command.rules.len();
    if rules > RULES_MAX {
        return Err(InspectionRuleRefusal::TooMany {
            rules,
            max: RULES_MAX,
        }
        .into());
    }
    for (index, rule) in command.rules.iter().enumerate() {
        is_possible(shop, &command.rules, index, rule)?;
    }
    Ok(CustomerInspectionSet {
        customer: customer.id,
        rules: command.rules.clone(),
    })
}

fn is_possible(
    shop: &Shop,
    all: &[InspectionRule],
    index: usize,
    rule: &InspectionRule,
) -> Result<(), InspectionRuleRefusal> {
    if let Some(part) = rule.part.filter(|part| shop.parts.get(part).is_none()) {
        return Err(InspectionRuleRefusal::UnknownPart { index, part });
    }
    let is_same = |other: &InspectionRule| (other.part, other.operation) == (rule.part, rule.operation);
    if all[..index].iter().any(is_same) {
        return Err(InspectionRuleRefusal::SameTwice { index });
    }
    let occasions = &rule.first_piece;
    if (1..occasions.len()).any(|at| occasions[..at].contains(&occasions[at])) {
        return Err(InspectionRuleRefusal::OccasionTwice { index });
    }
    let months = rule.first_article_after_months.map(u32::from);
    let numbers = [
        ("first_article_after_months", months, u32::from(MONTHS_MAX)),
        ("in_process_every", rule.in_process_every, PIECES_MAX),
    ];
    let bad = numbers.into_iter().find_map(|(field, number, max)| {
        let number = number.filter(|number| !(1..=max).contains(number))?;
        Some(InspectionRuleRefusal::BadNumber {
            index,
            field,
            number,
            max,
        })
    });
    bad.map_or(Ok(()), Err)
}
