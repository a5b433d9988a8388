use super::{HOUR_S, at, every_day, machine, marks_of, report_of, window};
use crate::hours::rows::{By, Cut, DayRule};
use crate::hours::{Plans, PublishedPlan, planned_us};
use crate::ids::PlanId;
use crate::plan::Slot;
use crate::time::{Timestamp, US_PER_SECOND};
use chrono_tz::Tz;
use uuid::Uuid;

fn slot(machine_number: u128, starts_at: &str, cycle_s: u32) -> Slot {
    Slot {
        machine: machine(machine_number),
        starts_at: at(starts_at),
        cycle_s,
    }
}

fn plan(number: u128, recorded_at: &str, slots: Vec<Slot>) -> PublishedPlan {
    PublishedPlan {
        plan: PlanId(Uuid::from_u128(number)),
        recorded_at: at(recorded_at),
        slots,
    }
}

/// (name, planned, seconds with a plan) of each row.
fn planned(plans: Vec<PublishedPlan>, from: &str, to: &str, by: By) -> Vec<(String, Option<i64>, i64)> {
    let calendar = every_day(&[
        ("Early", ("06:00", "14:00"), None),
        ("Night", ("22:00", "06:00"), None),
    ]);
    let cut = Cut {
        calendar: &calendar,
        zone: Tz::UTC,
        by,
        rule: DayRule::Calendar,
    };
    let machines = [(machine(1), marks_of(Vec::new()))];
    let report = report_of(
        &cut,
        window(from, to),
        &machines,
        &Plans::new(plans),
        Timestamp::MAX,
    );
    let sums = report
        .rows
        .iter()
        .filter_map(|row| row.cell.planned_s)
        .reduce(|one, other| one + other);
    assert_eq!(report.total.planned_s, sums);
    report
        .rows
        .into_iter()
        .map(|row| (row.row.name, row.cell.planned_s, row.cell.planned_over_s))
        .collect()
}

#[test]
fn a_slot_counts_where_it_lies_in_the_window() {
    let slots = [
        slot(1, "2026-06-11T05:00:00Z", 7_200),
        slot(2, "2026-06-11T06:00:00Z", 60),
    ];
    let early = window("2026-06-11T06:00:00Z", "2026-06-11T14:00:00Z");
    assert_eq!(planned_us(&slots, machine(1), early), HOUR_S * US_PER_SECOND);
    assert_eq!(planned_us(&slots, machine(2), early), 60 * US_PER_SECOND);
    assert_eq!(planned_us(&slots, machine(3), early), 0);
}

#[test]
fn the_plan_in_force_is_the_last_one_published() {
    let plans = Plans::new(vec![
        plan(2, "2026-06-11T10:00:00Z", vec![]),
        plan(1, "2026-06-11T05:00:00Z", vec![]),
    ]);
    let in_force = |time: &str| plans.in_force(at(time)).map(|plan| plan.plan.0.as_u128());
    assert_eq!(in_force("2026-06-11T04:59:59Z"), None);
    assert_eq!(in_force("2026-06-11T05:00:00Z"), Some(1));
    assert_eq!(in_force("2026-06-11T09:59:59Z"), Some(1));
    assert_eq!(in_force("2026-06-12T00:00:00Z"), Some(2));
}

#[test]
fn a_row_takes_the_plan_that_was_in_force_when_it_began() {
    let both = |first_s, second_s| {
        vec![
            slot(1, "2026-06-11T06:30:00Z", first_s),
            slot(1, "2026-06-11T15:00:00Z", second_s),
        ]
    };
    let plans = vec![
        plan(1, "2026-06-11T05:00:00Z", both(3_600, 600)),
        plan(2, "2026-06-11T07:00:00Z", both(60, 1_200)),
    ];
    let rows = planned(plans, "2026-06-10T22:00:00Z", "2026-06-11T22:00:00Z", By::Shift);
    let expected = [
        ("Night".to_owned(), None, 0),
        ("Early".to_owned(), Some(3_600), 8 * HOUR_S),
        ("gap".to_owned(), Some(1_200), 8 * HOUR_S),
    ];
    assert_eq!(rows, expected);
}

#[test]
fn a_night_cut_at_midnight_keeps_the_plan_it_began_with() {
    let plans = vec![
        plan(
            1,
            "2026-06-10T21:00:00Z",
            vec![slot(1, "2026-06-10T23:00:00Z", 3 * 3_600)],
        ),
        plan(2, "2026-06-10T23:30:00Z", vec![]),
    ];
    let rows = planned(plans, "2026-06-11T00:00:00Z", "2026-06-12T00:00:00Z", By::Day);
    assert_eq!(rows, [("2026-06-11".to_owned(), Some(2 * HOUR_S), 24 * HOUR_S)]);
}

#[test]
fn a_day_says_over_how_much_of_it_a_plan_was_in_force() {
    let plans = vec![plan(
        1,
        "2026-06-11T13:00:00Z",
        vec![slot(1, "2026-06-11T22:00:00Z", 1_800)],
    )];
    let rows = planned(plans, "2026-06-10T00:00:00Z", "2026-06-12T00:00:00Z", By::Day);
    let expected = [
        ("2026-06-10".to_owned(), None, 0),
        ("2026-06-11".to_owned(), Some(1_800), 10 * HOUR_S),
    ];
    assert_eq!(rows, expected);
}

#[test]
fn a_plan_for_nothing_is_zero_and_not_null() {
    let rows = planned(
        vec![plan(1, "2026-06-01T00:00:00Z", vec![])],
        "2026-06-11T06:00:00Z",
        "2026-06-11T14:00:00Z",
        By::Shift,
    );
    assert_eq!(rows, [("Early".to_owned(), Some(0), 8 * HOUR_S)]);
}
