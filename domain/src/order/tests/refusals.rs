//! Each rule in the order of the list.

use super::*;
use crate::ids::{JobId, OrderId};
use crate::job::{Moved, PIECES_MAX, SplitJob};
use crate::order::{
    AddLine, CancelLine, ChangeLine, ChangeOrder, CompleteLine, ExpectMaterial, LINE_NUMBER_MAX, LINES_MAX,
    LineState, NewLine, ORDERS_MAX, QUOTED_MAX, Quoted, ReceiveMaterial, ReleaseLine, SHIPMENTS_MAX,
    Shipment,
};
use crate::refusal::Refusal;
use crate::shop::given::refused;
use uuid::Uuid;

fn with(change: impl FnOnce(&mut NewLine)) -> EnterOrder {
    let mut one = line(1, 5);
    change(&mut one);
    enter(9, vec![line(1, 1), one])
}

fn change(number: u8, line: u32, quantity: u32) -> ChangeLine {
    ChangeLine {
        order: order(number),
        line,
        quantity,
        due: day("2026-12-18"),
        priority: Priority::Normal,
        expected: None,
    }
}

fn change_order(expected: Option<u64>, by: Option<u8>) -> ChangeOrder {
    ChangeOrder {
        customer_approval_needed: false,
        order: order(1),
        customer: by.map(customer),
        reference: None,
        expected,
    }
}

fn cancel(line: u32) -> CancelLine {
    CancelLine {
        order: order(1),
        line,
    }
}

fn complete(line: u32) -> CompleteLine {
    CompleteLine {
        order: order(1),
        line,
    }
}

fn release_line(line: u32, blanks: Option<u32>) -> ReleaseLine {
    ReleaseLine { line, blanks }
}

fn release_lines(lines: Vec<ReleaseLine>, jobs: &[u8]) -> ReleaseOrder {
    ReleaseOrder {
        lines,
        ..release(1, jobs)
    }
}

/// Order 1: line 1 of 20 pieces released as job 1, lines 2 and 3 entered, the third of a revision without a routing.
fn a_shop_at_work() -> Given {
    let mut given = a_shop_with_customers();
    given.does(crate::part::AddRevision {
        part: part(1),
        facts: RevisionFacts {
            revision: code("B"),
            mass_g: None,
            size: None,
            blank: None,
        },
    });
    let mut unrouted = line(1, 5);
    unrouted.revision = code("B");
    given.does(enter(1, vec![line(1, 20), line(1, 5), unrouted]));
    given.does(release_lines(vec![release_line(1, None)], &[1]));
    given
}

#[test]
fn entering_says_no_in_its_own_words() {
    let given = a_shop_at_work();
    let stale = given.seq() + 7;
    let other_id = EnterOrder {
        code: code("X"),
        ..enter(1, vec![line(1, 1)])
    };
    let taken = EnterOrder {
        order: order(9),
        code: code("so-1"),
        ..enter(9, vec![line(1, 1)])
    };
    let by_nobody = EnterOrder {
        customer: Some(customer(9)),
        ..enter(9, vec![line(1, 1)])
    };
    for (refusal, expected) in [
        (given.when(change(9, 1, 5)), "order.unknown"),
        (given.when(change(1, 9, 5)), "order.line-unknown"),
        (given.when(change_order(Some(stale), None)), "order.stale"),
        (given.when(other_id), "order.id-taken"),
        (given.when(taken), "order.code-taken"),
        (given.when(by_nobody), "order.customer-unknown"),
        (given.when(change_order(None, Some(9))), "order.customer-unknown"),
        (given.when(enter(9, Vec::new())), "order.no-line"),
        (
            given.when(enter(9, vec![line(1, 1); LINES_MAX + 1])),
            "order.too-many-lines",
        ),
    ] {
        assert_eq!(refused(refusal), expected);
    }
}

fn each_points_at<const N: usize>(given: &Given, rows: [(EnterOrder, &str, &str); N]) {
    for (command, expected, field) in rows {
        let refusal: Refusal = given.when(command).unwrap_err();
        assert_eq!((refusal.code(), refusal.pointer().as_str()), (expected, field));
    }
}

#[test]
fn a_line_that_is_wrong_is_pointed_at() {
    let given = a_shop_at_work();
    let rows: [(EnterOrder, &str, &str); 7] = [
        (
            with(|line| line.number = Some(0)),
            "order.bad-line-number",
            "/lines/1/number",
        ),
        (
            with(|line| line.number = Some(LINE_NUMBER_MAX + 1)),
            "order.bad-line-number",
            "/lines/1/number",
        ),
        (
            enter(
                9,
                [7, 7]
                    .map(|number| NewLine {
                        number: Some(number),
                        ..line(1, 5)
                    })
                    .into(),
            ),
            "order.line-taken",
            "/lines/1/number",
        ),
        (
            with(|line| line.part = part(9)),
            "order.part-unknown",
            "/lines/1/part",
        ),
        (
            with(|line| line.revision = code("Z")),
            "order.revision-unknown",
            "/lines/1/revision",
        ),
        (
            with(|line| line.quantity = 0),
            "order.bad-quantity",
            "/lines/1/quantity",
        ),
        (
            with(|line| line.quantity = PIECES_MAX + 1),
            "order.bad-quantity",
            "/lines/1/quantity",
        ),
    ];
    each_points_at(&given, rows);
    let again = AddLine {
        order: order(1),
        line: NewLine {
            number: Some(2),
            ..line(1, 5)
        },
    };
    let refusal = given.when(again).unwrap_err();
    assert_eq!(
        (refusal.code(), refusal.pointer().as_str()),
        ("order.line-taken", "/number")
    );
}

#[test]
fn dates_and_quotations_are_pointed_at() {
    let given = a_shop_at_work();
    let quoted = |operation| Quoted {
        operation,
        setup_s: 3_600,
        run_s: 60,
    };
    let rows: [(EnterOrder, &str, &str); 5] = [
        (
            with(|line| line.due = day("1999-12-31")),
            "order.date-out-of-range",
            "/lines/1/due",
        ),
        (
            with(|line| line.due = day("2200-01-01")),
            "order.date-out-of-range",
            "/lines/1/due",
        ),
        (
            with(|line| line.material.expected = Some(day("2206-01-01"))),
            "order.date-out-of-range",
            "/lines/1/material/expected",
        ),
        (
            with(|line| line.quoted = vec![quoted(10); QUOTED_MAX + 1]),
            "order.too-many-quoted",
            "/lines/1/quoted",
        ),
        (
            with(|line| line.quoted = vec![quoted(10), quoted(10)]),
            "order.quoted-twice",
            "/lines/1/quoted/1/operation",
        ),
    ];
    each_points_at(&given, rows);
}

#[test]
fn changing_and_releasing_say_no_in_their_own_words() {
    let mut given = a_shop_at_work();
    cut(&mut given, 1, good(8));
    given.does(ship(5)).does(cancel(2));
    let arrive = |line| ReceiveMaterial {
        order: order(1),
        line,
        at: START,
        certificate: Some(name("Heat 9")),
    };
    let expect = ExpectMaterial {
        order: order(1),
        line: 1,
        expected: None,
    };
    for (refusal, expected) in [
        (given.when(change(1, 2, 5)), "order.line-closed"),
        (
            given.when(release_lines(vec![release_line(2, None)], &[7])),
            "order.line-closed",
        ),
        (given.when(arrive(2)), "order.line-closed"),
        (given.when(change(1, 1, 4)), "order.quantity-under-shipped"),
        (given.when(expect), "order.material-already-arrived"),
        (given.when(arrive(1)), "order.material-already-arrived"),
        (
            given.when(release_lines(vec![release_line(1, None)], &[7])),
            "order.line-already-released",
        ),
        (
            given.when(release_lines(
                vec![release_line(3, None), release_line(3, None)],
                &[7, 8],
            )),
            "order.line-named-twice",
        ),
        (
            given.when(release_lines(vec![release_line(3, Some(PIECES_MAX + 1))], &[7])),
            "order.bad-blanks",
        ),
        (given.when(release(1, &[7])), "order.no-routing"),
        (given.when(complete(3)), "order.line-not-released"),
        (given.when(Ship { line: 3, ..ship(1) }), "order.line-not-released"),
        (given.when(cancel(1)), "order.line-shipped"),
        (given.when(ship(0)), "order.bad-pieces"),
        (
            given.when(Ship {
                job: Some(job(9)),
                ..ship(1)
            }),
            "order.job-unknown",
        ),
        (given.when(ship(4)), "order.not-made"),
        (given.when(complete(1)), "order.not-full"),
        (
            given.when(Ship {
                at: crate::time::Timestamp(0),
                ..ship(1)
            }),
            "time.out-of-range",
        ),
    ] {
        assert_eq!(refused(refusal), expected);
    }
    given.does(cancel(3));
    assert_eq!(refused(given.when(release(1, &[7]))), "order.nothing-to-release");
}

#[test]
fn new_jobs_need_ids_of_their_own() {
    let mut given = a_shop_at_work();
    given.does(enter(2, vec![line(1, 5)]));
    for jobs in [&[][..], &[1][..]] {
        assert_eq!(refused(given.when(release(2, jobs))), "order.job-id-taken");
    }
}

#[test]
fn with_several_lots_the_shipped_one_is_named() {
    let mut given = a_released_line(20);
    given.does(SplitJob {
        job: job(1),
        into: job(2),
        quantity: 5,
        moved: vec![Moved {
            operation: 10,
            pieces: 5,
        }],
    });
    cut(&mut given, 2, good(5));
    assert_eq!(refused(given.when(ship(1))), "order.job-missing");
    given.does(Ship {
        job: Some(job(2)),
        ..ship(1)
    });
    assert_eq!(the_line(&given).shipped_of(job(2)), 1);
}

#[test]
fn pieces_under_way_are_named_with_where_they_are() {
    for (number, act) in [
        (0, &(|job: &mut Job| job.clamp(10, 3, false)) as &dyn Fn(&mut Job)),
        (1, &|job: &mut Job| {
            job.clamp(10, 3, false);
            job.count(
                10,
                Counts {
                    inspection: 3,
                    ..Counts::default()
                },
            );
        }),
    ] {
        let mut given = a_released_line(20);
        given.shop.jobs.update(&job(1), |job| act(job));
        let refusal = given.when(cancel(1)).unwrap_err();
        assert_eq!(refusal.code(), "order.pieces-under-way");
        let named = ["3 clamped", "3 with the inspector"][number];
        assert!(refusal.to_string().contains(named), "{refusal}");
    }
}

#[test]
fn there_is_an_end_to_everything() {
    let mut given = a_released_line(20);
    cut(&mut given, 1, good(20));
    given.shop.orders.update(&order(1), |order| {
        let sent = Shipment {
            at: START,
            pieces: 0,
            job: job(1),
        };
        order.lines[0].shipments = vec![sent; SHIPMENTS_MAX];
    });
    assert_eq!(refused(given.when(ship(1))), "order.too-many-shipments");

    let one = given.shop.jobs.get(&job(1)).unwrap().clone();
    for number in 1..crate::job::JOBS_MAX as u128 {
        let id = JobId(Uuid::from_u128(0x50_0000_0000 + number));
        given.shop.jobs.insert(id, Job { id, ..one.clone() });
    }
    given.does(enter(2, vec![line(1, 1)]));
    assert_eq!(refused(given.when(release(2, &[2]))), "order.too-many-jobs");
    let split = SplitJob {
        job: job(1),
        into: job(2),
        quantity: 1,
        moved: Vec::new(),
    };
    assert_eq!(refused(given.when(split)), "job.too-many");

    let one = given.shop.orders.get(&order(1)).unwrap().clone();
    for number in 2..ORDERS_MAX as u128 {
        let id = OrderId(Uuid::from_u128(0x60_0000_0000 + number));
        given.shop.orders.insert(
            id,
            crate::order::Order {
                id,
                code: code(&format!("N{number}")),
                ..one.clone()
            },
        );
    }
    assert_eq!(refused(given.when(enter(9, vec![line(1, 1)]))), "order.too-many");
    assert!(matches!(the_line(&given).state, LineState::Released { .. }));
}
