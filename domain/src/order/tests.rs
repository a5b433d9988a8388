mod cases;
mod lines;
mod refusals;
mod work;

use super::{EnterOrder, Material, NewLine, Priority, ReleaseOrder, Ship};
use crate::customer::{AddCustomer, CustomerFacts};
use crate::event::Event;
use crate::job::{Counts, Job};
use crate::order::{Arrived, Line};
use crate::part::{AddPart, Lead, Manual, RevisionFacts, Routing, SetRouting, Work};
use crate::shop::given::{
    Given, START, a_small_shop, code, customer, job, machining, name, operation, order, part, vendor,
};
use crate::vendor::{AddVendor, VendorFacts, Workday};
use chrono::{NaiveDate, Weekday};
use std::collections::BTreeSet;

pub fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

pub fn line(of_part: u8, quantity: u32) -> NewLine {
    NewLine {
        number: None,
        part: part(of_part),
        revision: code("A"),
        quantity,
        due: day("2026-12-18"),
        priority: Priority::Normal,
        material: Material {
            expected: None,
            arrived: Some(Arrived {
                at: START,
                certificate: Some(name("Heat 4482")),
            }),
        },
        quoted: Vec::new(),
    }
}

pub fn enter(number: u8, lines: Vec<NewLine>) -> EnterOrder {
    EnterOrder {
        customer_approval_needed: false,
        order: order(number),
        code: code(&format!("SO-{number}")),
        customer: None,
        reference: None,
        lines,
    }
}

pub fn release(number: u8, jobs: &[u8]) -> ReleaseOrder {
    ReleaseOrder {
        order: order(number),
        lines: Vec::new(),
        jobs: jobs.iter().map(|number| job(*number)).collect(),
    }
}

pub fn ship(pieces: u32) -> Ship {
    Ship {
        order: order(1),
        line: 1,
        job: None,
        pieces,
        at: START,
    }
}

/// The small shop with customer 1, who takes 5 per cent more and none less, a vendor who works Monday to Friday, and
/// part 2: machined (10), at the vendor's for five of their days (20), deburred in the house in an hour (30).
pub fn a_shop_with_customers() -> Given {
    let mut given = a_small_shop();
    let workdays = [
        Weekday::Mon,
        Weekday::Tue,
        Weekday::Wed,
        Weekday::Thu,
        Weekday::Fri,
    ];
    given
        .does(AddCustomer {
            customer: customer(1),
            facts: CustomerFacts {
                code: code("K1"),
                name: name("Pump works"),
                over_percent: 5,
                under_percent: 0,
            },
        })
        .does(AddVendor {
            vendor: vendor(1),
            facts: VendorFacts {
                code: code("HARDCOAT"),
                name: name("Hardcoat"),
                workdays: workdays.map(Workday).into(),
                closed: BTreeSet::from([day("2026-11-11")]),
            },
        })
        .does(AddPart {
            part: part(2),
            code: code("4712"),
            name: name("Cover"),
            revision: RevisionFacts {
                revision: code("A"),
                mass_g: None,
                size: None,
                blank: None,
            },
        });
    let outside = Manual {
        lead: Lead::WorkingDays { lead_days: 5 },
        vendor: Some(vendor(1)),
    };
    let deburring = Manual {
        lead: Lead::StaffedTime { lead_s: 3_600 },
        vendor: None,
    };
    given.does(SetRouting {
        part: part(2),
        revision: code("A"),
        routing: Routing {
            operations: vec![
                operation(10, Work::Machining(machining())),
                operation(20, Work::Manual(outside)),
                operation(30, Work::Manual(deburring)),
            ],
        },
        expected: None,
    });
    given
}

/// Order 1 with one line of part 1, released as job 1 with as many blanks.
pub fn a_released_line(quantity: u32) -> Given {
    let mut given = a_shop_with_customers();
    given
        .does(enter(1, vec![line(1, quantity)]))
        .does(release(1, &[1]));
    given
}

/// What the floor does at operation 10: clamp so many and count what came of them.
pub fn cut(given: &mut Given, number: u8, counts: Counts) {
    given.shop.jobs.update(&job(number), |job| {
        job.clamp(10, u32::try_from(counts.total()).unwrap(), false);
        job.count(10, counts);
    });
}

pub fn good(good: u32) -> Counts {
    Counts {
        good,
        ..Counts::default()
    }
}

pub fn the_job(given: &Given, number: u8) -> &Job {
    given.shop.jobs.get(&job(number)).unwrap()
}

pub fn the_line(given: &Given) -> &Line {
    given.shop.orders.get(&order(1)).unwrap().line(1).unwrap()
}
