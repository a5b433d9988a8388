//! From entering to closing.

use super::*;
use crate::event::Event;
use crate::job::{JobState, Moved, SplitJob};
use crate::order::{
    AddLine, CancelLine, ChangeLine, CompleteLine, ExpectMaterial, LineState, ReceiveMaterial, ReleaseLine,
    job_name, preview, version,
};
use crate::shop::given::refused;

fn kinds(events: &[Event]) -> Vec<&'static str> {
    events.iter().map(Event::kind).collect()
}

fn change(quantity: u32, expected: Option<u64>) -> ChangeLine {
    ChangeLine {
        order: order(1),
        line: 1,
        quantity,
        due: day("2026-12-20"),
        priority: Priority::Rush,
        expected,
    }
}

fn split(quantity: u32) -> SplitJob {
    SplitJob {
        job: job(1),
        into: job(2),
        quantity,
        moved: vec![Moved {
            operation: 10,
            pieces: quantity,
        }],
    }
}

#[test]
fn lines_are_numbered_behind_the_highest_that_was_given() {
    let mut given = a_shop_with_customers();
    let mut second = line(1, 5);
    second.number = Some(20);
    given.does(enter(1, vec![line(1, 4), second, line(2, 6)]));
    given.does(AddLine {
        order: order(1),
        line: line(1, 7),
    });
    let lines = &given.shop.orders.get(&order(1)).unwrap().lines;
    let numbers: Vec<_> = lines.iter().map(|line| (line.number, line.quantity)).collect();
    assert_eq!(numbers, [(20, 5), (21, 4), (22, 6), (23, 7)]);
}

#[test]
fn a_new_routing_changes_nothing_that_is_released() {
    let mut given = a_released_line(6);
    let before = the_job(&given, 1).clone();
    let mut work = machining();
    work.pieces_per_load = 2;
    given.does(SetRouting {
        part: part(1),
        revision: code("A"),
        routing: Routing {
            operations: vec![operation(10, Work::Machining(work))],
        },
        expected: None,
    });
    assert_eq!(the_job(&given, 1), &before);
    given.does(enter(2, vec![line(1, 6)])).does(release(2, &[2]));
    assert_eq!(the_job(&given, 2).machining(10).unwrap().pieces_per_load, 2);
}

#[test]
fn a_line_may_get_more_blanks_than_pieces_are_wanted_or_none() {
    let mut given = a_shop_with_customers();
    given.does(enter(1, vec![line(1, 20), line(1, 8)]));
    given.does(ReleaseOrder {
        order: order(1),
        lines: vec![
            ReleaseLine {
                line: 1,
                blanks: Some(22),
            },
            ReleaseLine {
                line: 2,
                blanks: Some(0),
            },
        ],
        jobs: vec![job(1), job(2)],
    });
    let (first, second) = (the_job(&given, 1), the_job(&given, 2));
    assert_eq!(
        (
            first.released,
            first.pieces_can_be_loaded(10),
            first.pieces_to_load(10)
        ),
        (22, 22, 20)
    );
    assert_eq!(first.expected_good(), 20);
    assert_eq!((second.released, second.material_shortfall()), (0, 8));
}

#[test]
fn material_is_waited_for_until_somebody_says_that_it_is_here() {
    let mut given = a_shop_with_customers();
    let mut waits = line(1, 5);
    waits.material = Material::default();
    given.does(enter(1, vec![waits])).does(release(1, &[1]));
    given.does(ExpectMaterial {
        order: order(1),
        line: 1,
        expected: Some(day("2026-11-20")),
    });
    assert!(the_line(&given).waits_for_material());
    let arrives = |certificate: Option<&str>| ReceiveMaterial {
        order: order(1),
        line: 1,
        at: START,
        certificate: certificate.map(name),
    };
    given.does(arrives(None));
    assert!(!the_line(&given).waits_for_material());
    assert_eq!(the_job(&given, 1).certificate, None);
    assert_eq!(
        refused(given.when(arrives(None))),
        "order.material-already-arrived"
    );
    given.does(arrives(Some("Heat 7")));
    assert_eq!(
        the_job(&given, 1).certificate,
        Some(name("Heat 7")),
        "the paper came later"
    );
}

#[test]
fn a_change_is_decided_on_what_was_seen_of_the_pieces_too() {
    let mut given = a_released_line(20);
    let seen = version(&given.shop, the_line(&given));
    assert!(given.when(change(12, Some(seen))).is_ok());
    given.does(crate::job::AddBlanks {
        job: job(1),
        pieces: 1,
        certificate: None,
    });
    assert_eq!(refused(given.when(change(12, Some(seen)))), "order.stale");
}

#[test]
fn the_preview_shows_what_the_change_then_does() {
    let mut given = a_released_line(20);
    cut(
        &mut given,
        1,
        Counts {
            scrapped: 1,
            inspection: 2,
            ..good(9)
        },
    );
    given.shop.jobs.update(&job(1), |job| job.clamp(10, 3, false));
    given.does(ship(4));
    let order = given.shop.orders.get(&order(1)).unwrap().clone();
    let shown = preview(&given.shop, &order, the_line(&given), 12);
    assert_eq!(
        (
            shown.made,
            shown.shipped,
            shown.clamped,
            shown.inspection,
            shown.waiting
        ),
        (9, 4, 3, 2, 5)
    );
    // 12 wanted, 9 made: 3 to make of 10 in hand.
    assert_eq!((shown.still_to_make, shown.not_wanted, shown.surplus), (3, 7, 0));
    let refusal = preview(&given.shop, &order, the_line(&given), 3).refusal;
    assert_eq!(refusal.unwrap().code(), "order.quantity-under-shipped");
    given.does(change(12, None));
    assert_eq!(the_job(&given, 1).still_to_make(), shown.still_to_make);
    assert_eq!(the_line(&given).priority, Priority::Rush);
}

#[test]
fn less_is_taken_from_the_lots_that_have_made_least() {
    let mut given = a_released_line(50);
    given.does(split(20));
    cut(&mut given, 2, good(15));
    // Lot 2 still makes 5, lot 1 all of its 30.
    given.does(change(20, None));
    let wanted = |given: &Given| [1, 2].map(|number| the_job(given, number).quantity);
    assert_eq!(wanted(&given), [5, 15]);
    // What is made is given up last: nothing is to be made any more.
    given.does(change(12, None));
    assert_eq!(wanted(&given), [0, 12]);
    assert_eq!(the_job(&given, 2).surplus(), 3);
    given.does(change(30, None));
    assert_eq!(wanted(&given), [0, 30]);
}

#[test]
fn lots_are_named_by_order_line_and_number() {
    let mut given = a_released_line(50);
    given.does(split(20));
    let order = given.shop.orders.get(&order(1)).unwrap();
    let names = [1, 2].map(|number| job_name(order, the_job(&given, number)));
    assert_eq!(names, ["SO-1/1", "SO-1/1-2"]);
}

#[test]
fn exactly_full_is_complete_and_the_last_line_closes_the_order() {
    let mut given = a_shop_with_customers();
    given
        .does(enter(1, vec![line(1, 10), line(1, 5)]))
        .does(release(1, &[1, 2]));
    cut(&mut given, 1, good(10));
    given.does(ship(4));
    let last = given.when(ship(6)).unwrap();
    assert_eq!(kinds(&last), ["order.shipped", "order.line_completed"]);
    given.does(ship(6));
    assert_eq!(the_line(&given).state, LineState::Complete { jobs: vec![job(1)] });
    assert_eq!(the_job(&given, 1).state, JobState::Complete);
    let cancel = CancelLine {
        order: order(1),
        line: 2,
    };
    let closed = given.when(cancel.clone()).unwrap();
    assert_eq!(kinds(&closed), ["order.line_cancelled", "order.completed"]);
    given.does(cancel);
    assert!(given.shop.orders.is_empty() && given.shop.jobs.is_empty());
    assert_eq!(refused(given.when(ship(1))), "order.unknown");
}

#[test]
fn a_line_is_full_from_the_least_on_that_the_tolerance_owes() {
    let mut given = a_shop_with_customers();
    given.does(AddCustomer {
        customer: customer(2),
        facts: CustomerFacts {
            code: code("K2"),
            name: name("Gear works"),
            over_percent: 0,
            under_percent: 10,
        },
    });
    let entered = EnterOrder {
        customer: Some(customer(2)),
        ..enter(1, vec![line(1, 100)])
    };
    given.does(entered).does(release(1, &[1]));
    cut(&mut given, 1, good(92));
    let complete = CompleteLine {
        order: order(1),
        line: 1,
    };
    given.does(ship(89));
    assert_eq!(refused(given.when(complete.clone())), "order.not-full");
    given.does(ship(1));
    assert_eq!(the_line(&given).shipped(), 90);
    assert!(!the_line(&given).is_closed(), "a person says so");
    given.does(complete);
    assert!(given.shop.orders.is_empty());
}

#[test]
fn what_is_clamped_keeps_a_full_line_open() {
    let mut given = a_released_line(10);
    given.shop.jobs.update(&job(1), |job| job.add_blanks(2));
    cut(&mut given, 1, good(10));
    given.shop.jobs.update(&job(1), |job| job.clamp(10, 2, false));
    given.does(ship(10));
    let complete = CompleteLine {
        order: order(1),
        line: 1,
    };
    assert_eq!(refused(given.when(complete.clone())), "order.pieces-under-way");
    given.shop.jobs.update(&job(1), |job| job.unclamp(10, 2, false));
    given.does(complete);
    assert!(given.shop.orders.is_empty());
}

#[test]
fn a_reduction_to_what_is_shipped_completes() {
    let mut given = a_released_line(20);
    cut(&mut given, 1, good(10));
    given.does(ship(10));
    let events = given.when(change(10, None)).unwrap();
    assert_eq!(
        kinds(&events),
        ["order.line_changed", "order.line_completed", "order.completed"]
    );
}
