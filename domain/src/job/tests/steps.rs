//! Manual and outside steps: what goes out, what comes back, and when it should.

use crate::calendar::{Calendar, WeeklyShift};
use crate::job::{Back, Counts, ReportStepBack, ReportStepOut, STEPS_MAX, StepOut};
use crate::order::Material;
use crate::order::tests::{a_shop_with_customers, cut, day, enter, good, line, release, the_job};
use crate::shop::given::{Given, START, at_s, job, name, refused};
use crate::site::SetSiteCalendar;
use chrono::Weekday;

fn out(operation: u16, pieces: u32) -> ReportStepOut {
    ReportStepOut {
        job: job(1),
        operation,
        pieces,
        from_rework: false,
        at: START,
        due: None,
    }
}

fn back(step: u32, good: u32, damaged: u32, missing: u32) -> ReportStepBack {
    ReportStepBack {
        job: job(1),
        step,
        back: Back {
            good,
            damaged,
            missing,
        },
        at: at_s(9 * 86_400),
    }
}

/// Job 1 of part 2, 20 pieces; 12 have come from the machine to the vendor's operation.
fn a_job_for_the_vendor() -> Given {
    let mut given = a_shop_with_customers();
    given.does(enter(1, vec![line(2, 20)])).does(release(1, &[1]));
    cut(&mut given, 1, good(12));
    given
}

fn the_step(given: &Given) -> StepOut {
    the_job(given, 1).steps().next().unwrap().1.clone()
}

fn works_mondays(given: &mut Given) {
    let shift = WeeklyShift {
        name: name("Day"),
        weekday: Weekday::Mon,
        starts: "06:00".parse().unwrap(),
        ends: "14:00".parse().unwrap(),
        breaks: Vec::new(),
    };
    given.does(SetSiteCalendar {
        valid_from: day("2026-01-01"),
        calendar: Calendar::new(vec![shift], Vec::new()).unwrap(),
        expected: None,
    });
}

#[test]
fn each_rule_says_no_in_its_own_words() {
    let mut given = a_job_for_the_vendor();
    given.does(out(20, 10));
    let rework = ReportStepOut {
        from_rework: true,
        ..out(20, 1)
    };
    let early = ReportStepOut {
        due: Some(day("2026-11-01")),
        ..out(20, 1)
    };
    let before = ReportStepBack {
        at: at_s(-1),
        ..back(1, 1, 0, 0)
    };
    for (refusal, expected) in [
        (given.when(out(15, 1)), "job.operation-unknown"),
        (given.when(out(20, 0)), "job.bad-pieces"),
        (given.when(back(1, 0, 0, 0)), "job.bad-pieces"),
        (given.when(out(20, 3)), "job.too-few-waiting"),
        (given.when(rework), "job.too-few-in-rework"),
        (given.when(out(10, 1)), "job.operation-not-manual"),
        (given.when(early), "job.due-before-out"),
        (given.when(back(2, 1, 0, 0)), "job.step-unknown"),
        (given.when(back(1, 9, 1, 1)), "job.more-back-than-out"),
        (given.when(before), "job.back-before-out"),
    ] {
        assert_eq!(refused(refusal), expected);
    }
    let step = the_step(&given);
    given.shop.jobs.update(&job(1), |job| {
        job.operations[1].outside = vec![step; STEPS_MAX];
    });
    assert_eq!(refused(given.when(out(20, 1))), "job.too-many-steps");
}

#[test]
fn nothing_goes_out_of_material_that_is_not_here() {
    let mut given = a_shop_with_customers();
    let mut waits = line(3, 5);
    waits.material = Material::default();
    // Part 3 is sawn first.
    let saw = crate::part::Manual {
        lead: crate::part::Lead::WorkingDays { lead_days: 0 },
        vendor: None,
    };
    given
        .does(crate::part::AddPart {
            part: crate::shop::given::part(3),
            code: crate::shop::given::code("4713"),
            name: name("Bar"),
            revision: crate::part::RevisionFacts {
                revision: crate::shop::given::code("A"),
                mass_g: None,
                size: None,
                blank: None,
            },
        })
        .does(crate::part::SetRouting {
            part: crate::shop::given::part(3),
            revision: crate::shop::given::code("A"),
            routing: crate::part::Routing {
                operations: vec![crate::shop::given::operation(5, crate::part::Work::Manual(saw))],
            },
            expected: None,
        })
        .does(enter(1, vec![waits]))
        .does(release(1, &[1]));
    assert_eq!(refused(given.when(out(5, 1))), "job.material-not-arrived");
    given.does(crate::order::ReceiveMaterial {
        order: crate::shop::given::order(1),
        line: 1,
        at: START,
        certificate: None,
    });
    given.does(out(5, 1));
    assert_eq!(the_step(&given).due, Some(day("2026-11-02")), "the same day");
}

/// Out on Monday the 2nd; the day of receipt does not count, Wednesday the 11th is closed: 3, 4, 5, 6, 9. Ten days of
/// theirs are 3 4 5 6 9 10 12 13 16 17.
#[test]
fn due_is_counted_in_the_vendors_working_days() {
    let mut given = a_job_for_the_vendor();
    given.does(out(20, 10));
    let step = the_step(&given);
    assert_eq!(step.due, Some(day("2026-11-09")));
    assert!(!step.is_overdue_on(day("2026-11-09")));
    assert!(step.is_overdue_on(day("2026-11-10")));
    given.does(back(1, 10, 0, 0));
    assert!(!the_step(&given).is_overdue_on(day("2026-11-10")));
}

#[test]
fn good_damaged_and_missing_are_told_apart() {
    let mut given = a_job_for_the_vendor();
    given.does(out(20, 10)).does(back(1, 6, 1, 1));
    let step = the_step(&given);
    assert_eq!(
        (step.good, step.damaged, step.missing, step.still_out()),
        (6, 1, 1, 2)
    );
    let at = the_job(&given, 1).at(20).unwrap();
    assert_eq!(
        (at.out, at.good, at.inspection, at.scrapped, at.waiting()),
        (2, 6, 1, 1, 2)
    );
    assert_eq!(the_job(&given, 1).at(30).unwrap().came, 6);
    given.does(crate::job::ReportInspected {
        job: job(1),
        operation: 20,
        counts: Counts {
            rework: 1,
            ..Counts::default()
        },
        at: START,
    });
    given.does(ReportStepOut {
        from_rework: true,
        ..out(20, 1)
    });
    let at = the_job(&given, 1).at(20).unwrap();
    assert_eq!((at.rework, at.out), (0, 3));
    assert_eq!(the_job(&given, 1).steps().last().unwrap().1.step, 2);
}

#[test]
fn in_the_house_the_sites_own_hours_count() {
    let mut given = a_job_for_the_vendor();
    given.does(out(20, 10)).does(back(1, 10, 0, 0));
    assert_eq!(
        given.when(out(30, 4)).map(|events| due(&events)),
        Ok(None),
        "without a calendar nobody can tell"
    );
    works_mondays(&mut given);
    // START is Monday 07:00 in Berlin; the shift lasts until 14:00.
    assert_eq!(due(&given.when(out(30, 4)).unwrap()), Some(day("2026-11-02")));
    let late = ReportStepOut {
        at: at_s(6 * 3_600 + 1_801),
        ..out(30, 4)
    };
    assert_eq!(due(&given.when(late).unwrap()), Some(day("2026-11-09")));
}

fn due(events: &[crate::event::Event]) -> Option<chrono::NaiveDate> {
    let crate::event::Event::SteppedOut(out) = &events[0] else {
        panic!("{events:?}")
    };
    out.due
}

#[test]
fn the_due_date_that_was_promised_counts() {
    let mut given = a_job_for_the_vendor();
    given.does(ReportStepOut {
        due: Some(day("2026-11-30")),
        ..out(20, 3)
    });
    assert_eq!(the_step(&given).due, Some(day("2026-11-30")));
}
