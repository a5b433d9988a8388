use super::{HOUR_S, at, entry, every_day, machine, marks_of, report_of, state, window};
use crate::hours::rows::{By, Cut, DayRule};
use crate::hours::{ByCategory, Category, Figures, HoursReport, Plans, PublishedPlan};
use crate::ids::PlanId;
use crate::machine_state::MachineState::{Active, FeedHold, Off, Ready};
use crate::plan::Slot;
use crate::stretches::{MachineMarks, Mark};
use crate::time::Timestamp;
use chrono_tz::Tz;
use uuid::Uuid;

/// An early shift with a break, then a gap: machine 1 tells states, machine 2 cycles and counters; planned for machine 1.
fn two_machines() -> HoursReport {
    let calendar = every_day(&[("Early", ("06:00", "14:00"), Some(("10:00", "10:30")))]);
    let cut = Cut {
        calendar: &calendar,
        zone: Tz::UTC,
        by: By::Shift,
        rule: DayRule::Calendar,
    };
    let six = at("2026-06-11T06:00:00Z");
    let hour = |hour: i64| six.plus_s(hour * HOUR_S);
    let first = marks_of(vec![
        state(six, Active),
        state(hour(3), FeedHold),
        state(hour(4), Ready),
        state(hour(10), Off),
    ]);
    let reading = |at, powered_on_s, in_cut_s| Mark::Reading {
        at,
        powered_on_s,
        in_cut_s,
        reset: false,
    };
    let second = marks_of(vec![
        Mark::Cycle {
            from: hour(7),
            to: hour(9),
        },
        Mark::Covered {
            from: six,
            to: hour(16),
        },
        reading(six, 0, 0),
        reading(hour(8), 8 * HOUR_S, HOUR_S),
    ]);
    let slots = vec![Slot {
        machine: machine(1),
        starts_at: six,
        cycle_s: 14_400,
    }];
    let plans = Plans::new(vec![PublishedPlan {
        plan: PlanId(Uuid::nil()),
        recorded_at: six,
        slots,
    }]);
    let request = window("2026-06-11T06:00:00Z", "2026-06-11T22:00:00Z");
    report_of(
        &cut,
        request,
        &[(machine(1), first), (machine(2), second)],
        &plans,
        Timestamp::MAX,
    )
}

#[test]
fn every_figure_of_a_cell_stands_in_its_row() {
    let report = two_machines();
    let [early, gap] = report.rows.as_slice() else {
        panic!("a shift and a gap")
    };
    assert_eq!(
        (early.cell.window_s, early.cell.staffed_s, early.cell.attended_s),
        (16 * HOUR_S, 15 * HOUR_S, 16 * HOUR_S)
    );
    assert_eq!(
        (early.cell.realised_s(), gap.cell.realised_s()),
        (4 * HOUR_S, HOUR_S)
    );
    assert_eq!(gap.cell.seconds[Category::InCycleUnattended], HOUR_S);
    assert_eq!(early.cell.seconds[Category::StoppedInRun], HOUR_S);
    assert_eq!(early.cell.idle_s(), (4 + 7) * HOUR_S);
    assert_eq!(gap.cell.seconds[Category::Off], 6 * HOUR_S);
    assert_eq!(
        (early.cell.planned_s, early.cell.planned_over_s),
        (Some(4 * HOUR_S), 16 * HOUR_S)
    );
    let planned = early.cell.share_of_planned().unwrap();
    assert_eq!((planned.part_s, planned.of_s), (4 * HOUR_S, 4 * HOUR_S));
    assert_eq!(early.machines[0].figures.counters, None);
    let utilisation = early.cell.utilisation().unwrap();
    assert_eq!((utilisation.part_s, utilisation.of_s), (HOUR_S, 8 * HOUR_S));
    assert_eq!(gap.cell.utilisation(), None);
}

#[test]
fn a_cell_is_the_sum_of_its_machines_and_the_total_the_sum_of_its_rows() {
    let report = two_machines();
    let mut total = Figures::default();
    for row in &report.rows {
        let mut cell = Figures::default();
        row.machines.iter().for_each(|machine| cell.add(&machine.figures));
        assert_eq!(cell, row.cell);
        assert_eq!(row.cell.seconds.sum(), row.cell.window_s);
        total.add(&row.cell);
    }
    assert_eq!(total, report.total);
    let realised: Vec<_> = report
        .machine_totals
        .iter()
        .map(|(_, total)| total.realised_s())
        .collect();
    assert_eq!(realised, [3 * HOUR_S, 2 * HOUR_S]);
}

#[test]
fn the_row_in_progress_is_provisional_and_ends_now() {
    let calendar = every_day(&[("Early", ("06:00", "14:00"), None)]);
    let cut = Cut {
        calendar: &calendar,
        zone: Tz::UTC,
        by: By::Shift,
        rule: DayRule::Calendar,
    };
    let marks = MachineMarks::from_entries([entry(
        1,
        "2026-06-11T05:00:00Z",
        vec![state(at("2026-06-11T05:00:00Z"), Ready)],
    )]);
    let request = window("2026-06-11T06:00:00Z", "2026-06-12T06:00:00Z");
    let now = at("2026-06-11T15:00:00Z");
    let report = report_of(&cut, request, &[(machine(1), marks)], &Plans::default(), now);
    let told: Vec<_> = report
        .rows
        .iter()
        .map(|row| (row.cell.window_s, row.cell.provisional, row.cell.still_open))
        .collect();
    assert_eq!(told, [(8 * HOUR_S, false, false), (HOUR_S, true, false)]);
    assert!(report.total.provisional);
}

#[test]
fn no_share_is_given_without_a_denominator() {
    let mut figures = Figures {
        window_s: 0,
        ..Figures::default()
    };
    let shares = (
        figures.share_of_window(),
        figures.share_of_staffed(),
        figures.share_of_planned(),
        figures.utilisation(),
    );
    assert_eq!(shares, (None, None, None, None));
    figures.window_s = 100;
    figures.planned_s = Some(50);
    figures.planned_over_s = 60;
    assert_eq!(
        figures.share_of_planned(),
        None,
        "planned for a part, realised in the whole"
    );
    let mut seconds = ByCategory::default();
    seconds[Category::InCycleUnattended] = 25;
    let share = Figures { seconds, ..figures }.share_of_window().unwrap();
    assert_eq!((share.part_s, share.of_s, share.of), (25, 100, "window"));
    assert_eq!(format!("{:.1}", share.percent()), "25.0");
}
