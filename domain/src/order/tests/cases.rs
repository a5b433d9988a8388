//! The floor cases about counts and units, each by its number; what is right stands in the case.

use super::*;
use crate::job::{Moved, SplitJob};
use crate::order::{ChangeLine, ChangeOrder, made, may_ship, surplus};
use crate::shop::given::refused;

fn becomes(quantity: u32) -> ChangeLine {
    ChangeLine {
        order: order(1),
        line: 1,
        quantity,
        due: day("2026-12-18"),
        priority: Priority::Normal,
        expected: None,
    }
}

/// E24: 48 minutes for a pallet of 6, 24 pieces: 4 loads, 3 h 12 min.
#[test]
fn a_cycle_time_per_load_is_not_one_per_piece() {
    let given = a_released_line(24);
    let loads = the_job(&given, 1).loads_to_run(10).unwrap();
    assert_eq!((loads.loads, loads.cutting_s), (4, 3 * 3_600 + 12 * 60));
    assert_eq!(
        (loads.pieces_in_last_load, loads.empty_nests_in_last_load),
        (6, 0)
    );
}

/// E25: the same with 25: 5 loads, at most 4 h 00, one piece in the last one, 25 good expected.
#[test]
fn the_last_load_may_be_nearly_empty() {
    let given = a_released_line(25);
    let job = the_job(&given, 1);
    let loads = job.loads_to_run(10).unwrap();
    assert_eq!((loads.loads, loads.cutting_s), (5, 4 * 3_600));
    assert_eq!(
        (loads.pieces_in_last_load, loads.empty_nests_in_last_load),
        (1, 5)
    );
    assert_eq!(job.expected_good(), 25);
}

/// E40: 20 wanted, 4 good and 1 scrap: 16 to make, one blank short.
#[test]
fn scrap_is_not_done_and_its_blank_is_missed() {
    let mut given = a_released_line(20);
    let counts = Counts {
        scrapped: 1,
        ..good(4)
    };
    cut(&mut given, 1, counts);
    let job = the_job(&given, 1);
    assert_eq!(
        (job.made(), job.still_to_make(), job.material_shortfall()),
        (4, 16, 1)
    );
    assert_eq!(job.at(10).unwrap().scrapped, 1);
}

/// E43: 5 cut, 4 good at first, 1 after rework: 5 good, not 6.
#[test]
fn a_reworked_piece_is_good_once() {
    let mut given = a_released_line(5);
    let counts = Counts { rework: 1, ..good(4) };
    cut(&mut given, 1, counts);
    assert_eq!(the_job(&given, 1).pieces_to_run(10), 1, "it runs once more");
    given.shop.jobs.update(&job(1), |job| {
        job.clamp(10, 1, true);
        job.count(10, good(1));
    });
    let job = the_job(&given, 1);
    assert_eq!((job.made(), job.at(10).unwrap().rework), (5, 0));
    assert_eq!(job.at(10).unwrap().came, 5);
}

/// E45: 20 reduced to 12 after 14 good: nothing remains, 2 are surplus, no load is proposed, both quantities are kept.
#[test]
fn a_reduction_leaves_surplus_and_nothing_negative() {
    let mut given = a_released_line(20);
    cut(&mut given, 1, good(14));
    let events = given.when(becomes(12)).unwrap();
    let Event::LineChanged(changed) = &events[0] else {
        panic!("{events:?}")
    };
    assert_eq!((changed.was.quantity, changed.now.quantity), (20, 12));
    given.does(becomes(12));
    let job = the_job(&given, 1);
    assert_eq!((job.still_to_make(), job.surplus()), (0, 2));
    assert_eq!(job.pieces_to_load(10), 0);
    assert_eq!(job.loads_to_run(10).unwrap().loads, 0);
    let order = given.shop.orders.get(&order(1)).unwrap();
    assert_eq!(surplus(&given.shop, order, the_line(&given)), 2);
}

/// E46: 10 of 20 are shipped, then 30 are wanted: 20 to make, the 10 stay shipped with their date.
#[test]
fn a_raise_does_not_reset_what_is_shipped() {
    let mut given = a_released_line(20);
    cut(&mut given, 1, good(10));
    given.does(ship(10)).does(becomes(30));
    assert_eq!(the_job(&given, 1).still_to_make(), 20);
    let shipments = &the_line(&given).shipments;
    assert_eq!(
        shipments
            .iter()
            .map(|one| (one.pieces, one.at))
            .collect::<Vec<_>>(),
        [(10, START)]
    );
    assert_eq!(
        the_job(&given, 1).material_shortfall(),
        10,
        "20 blanks were given out"
    );
}

/// E47: 50 split 30/20, 2 of the 20 scrapped: 30 + 18 + 2 = 50, both of one heat.
#[test]
fn a_split_keeps_quantity_and_heat() {
    let mut given = a_released_line(50);
    given.does(SplitJob {
        job: job(1),
        into: job(2),
        quantity: 20,
        moved: vec![Moved {
            operation: 10,
            pieces: 20,
        }],
    });
    cut(&mut given, 1, good(30));
    let counts = Counts {
        scrapped: 2,
        ..good(18)
    };
    cut(&mut given, 2, counts);
    let (first, second) = (the_job(&given, 1), the_job(&given, 2));
    assert_eq!(
        (first.made(), second.made(), second.at(10).unwrap().scrapped),
        (30, 18, 2)
    );
    for lot in [first, second] {
        assert_eq!(lot.certificate, Some(name("Heat 4482")));
    }
    assert_eq!(
        (second.parent, first.quantity, second.quantity),
        (Some(job(1)), 30, 20)
    );
    assert_eq!(made(&given.shop, the_line(&given)), 48);
    assert_eq!(the_line(&given).jobs(), [job(1), job(2)]);
}

/// E49: 100 wanted, +5 / -0 per cent, 107 good: 105 may ship, 2 are surplus; without a tolerance 100 may.
#[test]
fn no_more_than_the_tolerance_is_shipped() {
    let mut given = a_shop_with_customers();
    given.does(enter(1, vec![line(1, 100)])).does(release(1, &[1]));
    given.shop.jobs.update(&job(1), |job| job.add_blanks(7));
    cut(&mut given, 1, good(107));
    let most = |given: &Given| {
        let order = given.shop.orders.get(&order(1)).unwrap();
        let surplus = surplus(&given.shop, order, the_line(given));
        (*may_ship(&given.shop, order, 100).end(), surplus)
    };
    assert_eq!(most(&given), (100, 7));
    assert_eq!(refused(given.when(ship(101))), "order.over-tolerance");
    given.does(ChangeOrder {
        customer_approval_needed: false,
        order: order(1),
        customer: Some(customer(1)),
        reference: None,
        expected: None,
    });
    assert_eq!(most(&given), (105, 2));
    assert_eq!(refused(given.when(ship(106))), "order.over-tolerance");
    given.does(ship(60));
    assert_eq!(refused(given.when(ship(46))), "order.over-tolerance");
    given.does(ship(45));
    assert!(
        given.shop.orders.is_empty(),
        "more than ordered is shipped: complete, and it was the only line"
    );
}
