use super::{AddCustomer, CUSTOMERS_MAX, ChangeCustomer, Customer, CustomerFacts};
use crate::ids::CustomerId;
use crate::shop::given::{a_small_shop, code, customer, name, refused};
use uuid::Uuid;

fn facts(text: &str, over_percent: u8, under_percent: u8) -> CustomerFacts {
    CustomerFacts {
        code: code(text),
        name: name("Nordwerk"),
        over_percent,
        under_percent,
    }
}

fn add(number: u8, facts: CustomerFacts) -> AddCustomer {
    AddCustomer {
        customer: customer(number),
        facts,
    }
}

fn change(number: u8, facts: CustomerFacts, expected: Option<u64>) -> ChangeCustomer {
    ChangeCustomer {
        customer: customer(number),
        facts,
        expected,
    }
}

#[test]
fn each_rule_says_no_in_its_own_words() {
    let mut given = a_small_shop();
    given
        .does(add(1, facts("A", 5, 0)))
        .does(add(2, facts("B", 0, 0)));
    let stale = given.seq() + 7;
    for (refusal, expected) in [
        (given.when(change(9, facts("X", 0, 0), None)), "customer.unknown"),
        (
            given.when(change(1, facts("A", 0, 0), Some(stale))),
            "customer.stale",
        ),
        (given.when(add(1, facts("X", 0, 0))), "customer.id-taken"),
        (given.when(add(9, facts("a", 0, 0))), "customer.code-taken"),
        (
            given.when(change(1, facts("B", 0, 0), None)),
            "customer.code-taken",
        ),
        (given.when(add(9, facts("X", 101, 0))), "customer.bad-percent"),
        (
            given.when(change(1, facts("A", 0, 101), None)),
            "customer.bad-percent",
        ),
    ] {
        assert_eq!(refused(refusal), expected);
    }
    let one = given.shop.customers.get(&customer(1)).unwrap().clone();
    for number in 2..CUSTOMERS_MAX as u128 {
        let id = CustomerId(Uuid::from_u128(0x10_0000_0000 + number));
        given.shop.customers.insert(id, Customer { id, ..one.clone() });
    }
    assert_eq!(refused(given.when(add(9, facts("X", 0, 0)))), "customer.too-many");
}

// Floor case E49: 100 ordered, +5 / -0 %: 105 may ship; without a tolerance 100.
#[test]
fn a_tolerance_is_what_the_contract_says_and_none_by_default() {
    let of = |over_percent, under_percent| Customer {
        id: customer(1),
        facts: facts("A", over_percent, under_percent),
        inspection: Vec::new(),
        inspection_changed_seq: 1,
        changed_seq: 1,
    };
    assert_eq!(of(5, 0).may_ship(100), 100..=105);
    assert_eq!(of(0, 0).may_ship(100), 100..=100);
    // Part of a piece is no piece: 10 % of 19 is 1.9.
    assert_eq!(of(10, 10).may_ship(19), 18..=20);
}
