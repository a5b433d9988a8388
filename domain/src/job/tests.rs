mod properties;
mod steps;

use super::{AddBlanks, Counts, JobState, Moved, PIECES_MAX, ReportInspected, SplitJob};
use crate::ids::JobId;
use crate::order::{LOTS_MAX, LineState};
use crate::shop::given::{Given, START, job, name, order, refused};
use uuid::Uuid;

use crate::order::tests::{a_released_line, a_shop_with_customers, cut, enter, good, line, release, the_job};

fn split(quantity: u32, moved: &[(u16, u32)]) -> SplitJob {
    let moved = moved
        .iter()
        .map(|(operation, pieces)| Moved {
            operation: *operation,
            pieces: *pieces,
        })
        .collect();
    SplitJob {
        job: job(1),
        into: job(2),
        quantity,
        moved,
    }
}

fn blanks(pieces: u32, certificate: Option<&str>) -> AddBlanks {
    AddBlanks {
        job: job(1),
        pieces,
        certificate: certificate.map(name),
    }
}

fn judge(operation: u16, counts: Counts) -> ReportInspected {
    ReportInspected {
        job: job(1),
        operation,
        counts,
        at: START,
    }
}

/// Job 1 of 20 pieces of part 2: 12 cut (9 good, 2 with the inspector, 1 scrapped).
fn a_job_at_work() -> Given {
    let mut given = a_shop_with_customers();
    given.does(enter(1, vec![line(2, 20)])).does(release(1, &[1]));
    let counts = Counts {
        inspection: 2,
        scrapped: 1,
        ..good(9)
    };
    cut(&mut given, 1, counts);
    given
}

#[test]
fn each_rule_says_no_in_its_own_words() {
    let given = a_job_at_work();
    let unknown = SplitJob {
        job: job(9),
        ..split(1, &[])
    };
    let taken = SplitJob {
        into: job(1),
        ..split(1, &[])
    };
    for (refusal, expected) in [
        (given.when(unknown), "job.unknown"),
        (given.when(taken), "job.id-taken"),
        (given.when(split(5, &[(15, 5)])), "job.operation-unknown"),
        (given.when(judge(15, good(1))), "job.operation-unknown"),
        (
            given.when(split(5, &[(10, 2), (10, 3)])),
            "job.operation-named-twice",
        ),
        (given.when(split(0, &[])), "job.bad-pieces"),
        (given.when(split(5, &[(10, 0)])), "job.bad-pieces"),
        (given.when(blanks(0, None)), "job.bad-pieces"),
        (given.when(judge(10, Counts::default())), "job.bad-pieces"),
        (given.when(split(20, &[])), "job.split-too-large"),
        // 8 blanks wait at 10, 9 good pieces at 20.
        (given.when(split(5, &[(10, 9)])), "job.too-few-waiting"),
        (given.when(split(5, &[(20, 10)])), "job.too-few-waiting"),
        (given.when(blanks(PIECES_MAX - 19, None)), "job.too-many-blanks"),
        (given.when(blanks(1, Some("Heat 9"))), "job.other-certificate"),
        (given.when(judge(10, good(3))), "job.more-than-inspected"),
        (
            given.when(ReportInspected {
                at: crate::time::Timestamp(0),
                ..judge(10, good(1))
            }),
            "time.out-of-range",
        ),
    ] {
        assert_eq!(refused(refusal), expected);
    }
    assert!(given.when(split(19, &[(10, 8), (20, 9)])).is_ok());
    assert!(given.when(blanks(1, Some("Heat 4482"))).is_ok());
}

#[test]
fn nothing_is_counted_on_a_job_that_is_closed() {
    for state in [JobState::Complete, JobState::Cancelled] {
        let mut given = a_job_at_work();
        given.shop.jobs.update(&job(1), |job| job.state = state);
        assert_eq!(refused(given.when(split(1, &[]))), "job.not-open");
        assert_eq!(refused(given.when(judge(10, good(1)))), "job.not-open");
    }
}

#[test]
fn there_is_an_end_to_lots() {
    let mut given = a_job_at_work();
    let lots: Vec<_> = (0..LOTS_MAX as u128)
        .map(|lot| JobId(Uuid::from_u128(0x70_0000_0000 + lot)))
        .collect();
    given.shop.orders.update(&order(1), |order| {
        order.lines[0].state = LineState::Released { jobs: lots };
    });
    assert_eq!(refused(given.when(split(1, &[]))), "job.too-many-lots");
}

#[test]
fn what_the_inspector_says_closes_the_count() {
    let mut given = a_job_at_work();
    let said = Counts {
        returned: 1,
        ..good(1)
    };
    given.does(judge(10, said));
    let at = the_job(&given, 1).at(10).unwrap();
    assert_eq!((at.good, at.inspection, at.returned), (10, 0, 1));
    assert_eq!(the_job(&given, 1).at(20).unwrap().came, 10);
}

#[test]
fn pieces_take_the_way_that_they_have_come_with_them() {
    let mut given = a_job_at_work();
    given.does(split(8, &[(10, 3), (20, 4)]));
    let (old, new) = (the_job(&given, 1), the_job(&given, 2));
    let came = |job: &super::Job| job.operations.iter().map(|at| at.came).collect::<Vec<_>>();
    assert_eq!((old.released, came(old)), (13, vec![13, 5, 0]));
    assert_eq!((new.released, came(new)), (7, vec![7, 4, 0]));
    assert_eq!((new.at(10).unwrap().good, new.at(10).unwrap().waiting()), (4, 3));
    assert_eq!((old.at(10).unwrap().good, old.at(10).unwrap().scrapped), (5, 1));
}

#[test]
fn a_lot_without_blanks_may_be_made_of_another_heat() {
    let mut given = a_released_line(20);
    given.does(split(5, &[]));
    let other = AddBlanks {
        job: job(2),
        ..blanks(5, Some("Heat 9"))
    };
    given.does(other);
    assert_eq!(the_job(&given, 2).certificate, Some(name("Heat 9")));
    assert_eq!(the_job(&given, 1).certificate, Some(name("Heat 4482")));
    let third = AddBlanks {
        job: job(2),
        ..blanks(5, Some("Heat 10"))
    };
    assert_eq!(refused(given.when(third)), "job.other-certificate");
}

/// 20 wanted: 9 wait at 20, 2 are with the inspector, 8 wait at 10, 1 is scrapped.
#[test]
fn only_as_many_as_are_wanted_are_run() {
    let mut given = a_job_at_work();
    let to_run = |given: &Given| [10, 20, 30].map(|number| the_job(given, 1).pieces_to_run(number));
    assert_eq!(to_run(&given), [8, 19, 19]);
    assert_eq!(the_job(&given, 1).material_shortfall(), 1);
    given.shop.jobs.update(&job(1), |job| job.quantity = 12);
    assert_eq!(to_run(&given), [1, 12, 12]);
    given.shop.jobs.update(&job(1), |job| job.clamp(10, 1, false));
    assert_eq!(the_job(&given, 1).pieces_to_load(10), 0, "that one is clamped");
}

#[test]
fn opening_counts_are_taken_from_what_waits() {
    let mut given = a_released_line(20);
    given.shop.jobs.update(&job(1), |job| {
        let counts = Counts {
            scrapped: 2,
            ..good(5)
        };
        job.told(10, counts);
    });
    let at = the_job(&given, 1).at(10).unwrap();
    assert_eq!((at.waiting(), at.good, at.scrapped), (13, 5, 2));
}
