use super::{AddVendor, CLOSED_DAYS_MAX, ChangeVendor, VENDORS_MAX, Vendor, VendorFacts, Workday};
use crate::ids::VendorId;
use crate::shop::given::{a_small_shop, code, name, refused, vendor};
use chrono::{NaiveDate, Weekday};
use uuid::Uuid;

fn date(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

/// Monday to Friday, closed on Christmas Day and the day after.
fn facts(text: &str) -> VendorFacts {
    let workdays = [
        Weekday::Mon,
        Weekday::Tue,
        Weekday::Wed,
        Weekday::Thu,
        Weekday::Fri,
    ];
    VendorFacts {
        code: code(text),
        name: name("Hardcoat"),
        workdays: workdays.map(Workday).into(),
        closed: [date("2026-12-25"), date("2026-12-26")].into(),
    }
}

fn add(number: u8, facts: VendorFacts) -> AddVendor {
    AddVendor {
        vendor: vendor(number),
        facts,
    }
}

fn change(number: u8, facts: VendorFacts, expected: Option<u64>) -> ChangeVendor {
    ChangeVendor {
        vendor: vendor(number),
        facts,
        expected,
    }
}

#[test]
fn each_rule_says_no_in_its_own_words() {
    let mut given = a_small_shop();
    given.does(add(1, facts("A"))).does(add(2, facts("B")));
    let stale = given.seq() + 7;
    let never = VendorFacts {
        workdays: [].into(),
        ..facts("X")
    };
    let first = date("2026-01-01");
    let closed = VendorFacts {
        closed: first.iter_days().take(CLOSED_DAYS_MAX + 1).collect(),
        ..facts("X")
    };
    for (refusal, expected) in [
        (given.when(change(9, facts("X"), None)), "vendor.unknown"),
        (given.when(change(1, facts("A"), Some(stale))), "vendor.stale"),
        (given.when(add(1, facts("X"))), "vendor.id-taken"),
        (given.when(add(9, facts("a"))), "vendor.code-taken"),
        (given.when(change(1, facts("B"), None)), "vendor.code-taken"),
        (given.when(add(9, never)), "vendor.no-workday"),
        (given.when(add(9, closed)), "vendor.too-many-closed-days"),
    ] {
        assert_eq!(refused(refusal), expected);
    }
    let one = given.shop.vendors.get(&vendor(1)).unwrap().clone();
    for number in 2..VENDORS_MAX as u128 {
        let id = VendorId(Uuid::from_u128(0x10_0000_0000 + number));
        given.shop.vendors.insert(id, Vendor { id, ..one.clone() });
    }
    assert_eq!(refused(given.when(add(9, facts("X")))), "vendor.too-many");
}

// Common practice, no source: the lead time starts on the day after receipt and counts working days. The calendar of
// December 2026 by hand: the 21st is a Monday, the 25th a Friday and closed.
#[test]
fn lead_times_count_the_vendors_working_days_from_the_day_after_receipt() {
    let vendor = Vendor {
        id: vendor(1),
        facts: facts("A"),
        changed_seq: 1,
    };
    for (received, lead_days, due) in [
        ("2026-12-21", 0, "2026-12-21"),
        ("2026-12-21", 1, "2026-12-22"),
        ("2026-12-18", 1, "2026-12-21"),
        ("2026-12-19", 1, "2026-12-21"),
        ("2026-12-23", 2, "2026-12-28"),
        ("2026-12-21", 5, "2026-12-29"),
    ] {
        assert_eq!(
            vendor.due_after(date(received), lead_days),
            Some(date(due)),
            "{received} + {lead_days}"
        );
    }
    assert!(!vendor.works_on(date("2026-12-25")) && vendor.works_on(date("2026-12-24")));
}

// By hand: 30 November 2026 is a Monday; with the next 1,000 Mondays closed, the 1,001st comes 7,007 days later.
#[test]
fn a_closed_day_costs_a_week_if_the_vendor_works_on_one_day_a_week() {
    let monday = date("2026-11-30");
    let mondays = monday.iter_weeks().skip(1).take(1_000);
    let vendor = Vendor {
        id: vendor(1),
        facts: VendorFacts {
            workdays: [Workday(Weekday::Mon)].into(),
            closed: mondays.collect(),
            ..facts("A")
        },
        changed_seq: 1,
    };
    let due = monday + chrono::Days::new(7_007);
    assert_eq!(vendor.due_after(monday, 1), Some(due));
}
