//! Cases from the shop floor, numbered E01 and on. What is right in each: common practice, no source. Elapsed time on the
//! nights of clock changes follows the IANA time zone database.

use super::{HOUR_S, MINUTE_S, entry, every_day, machine, marks_of, report_of, state, wall};
use crate::hours::rows::{By, Cut, DayRule};
use crate::hours::{Category, HoursReport, Plans, RowSeconds, sweep};
use crate::machine_state::MachineState::{Active, Interrupted, Ready, Unavailable};
use crate::stretches::{MachineMarks, Mark};
use crate::time::{Timestamp, Window};
use chrono_tz::Europe::Berlin;
use chrono_tz::Tz;

const FUTURE: Timestamp = Timestamp::MAX;

fn local(time: &str) -> Timestamp {
    wall(Berlin, time)
}

fn one(marks: &MachineMarks, window: Window) -> RowSeconds {
    sweep(marks, &[window], &[], FUTURE, None).remove(0)
}

fn cut_between(from: &str, to: &str) -> MachineMarks {
    marks_of(vec![state(local(from), Active), state(local(to), Ready)])
}

#[test]
fn e01_a_night_in_which_the_clocks_go_back_is_an_hour_longer() {
    let marks = marks_of(vec![
        state(local("2026-10-24 21:50"), Ready),
        state(local("2026-10-24 22:05"), Active),
        state(local("2026-10-25 06:10"), Ready),
    ]);
    let row = one(
        &marks,
        Window::new(local("2026-10-24 21:50"), local("2026-10-25 06:10")),
    );
    assert_eq!(row.seconds.in_cycle(), 9 * HOUR_S + 5 * MINUTE_S);
    assert_eq!(row.seconds[Category::IdleUnattended], 15 * MINUTE_S);
}

#[test]
fn e02_a_night_in_which_the_clocks_go_forward_is_an_hour_shorter() {
    let marks = cut_between("2027-03-27 22:05", "2027-03-28 06:10");
    let row = one(
        &marks,
        Window::new(local("2027-03-27 12:00"), local("2027-03-28 12:00")),
    );
    assert_eq!(row.seconds.in_cycle(), 7 * HOUR_S + 5 * MINUTE_S);
}

fn night_report(marks: MachineMarks, from: &str, to: &str, by: By, rule: DayRule) -> HoursReport {
    let calendar = every_day(&[("Night", ("22:00", "06:00"), Some(("02:00", "02:30")))]);
    let cut = Cut {
        calendar: &calendar,
        zone: Berlin,
        by,
        rule,
    };
    let request = Window::new(local(from), local(to));
    report_of(&cut, request, &[(machine(1), marks)], &Plans::default(), FUTURE)
}

#[test]
fn e07_a_cut_over_midnight_is_split_by_calendar_day_and_whole_by_shift_date() {
    let realised = |from, to, rule| {
        let marks = cut_between("2026-06-10 23:30", "2026-06-11 01:10");
        let report = night_report(marks, from, to, By::Day, rule);
        assert_eq!(report.total.realised_s(), HOUR_S + 40 * MINUTE_S);
        report
            .rows
            .iter()
            .map(|row| (row.row.name.clone(), row.cell.realised_s()))
            .collect::<Vec<_>>()
    };
    let by_calendar = [
        ("2026-06-10".to_owned(), 30 * MINUTE_S),
        ("2026-06-11".to_owned(), 70 * MINUTE_S),
    ];
    assert_eq!(
        realised("2026-06-10 00:00", "2026-06-12 00:00", DayRule::Calendar),
        by_calendar
    );
    let by_shift_date = [
        ("2026-06-10".to_owned(), 100 * MINUTE_S),
        ("2026-06-11".to_owned(), 0),
    ];
    assert_eq!(
        realised("2026-06-10 22:00", "2026-06-12 22:00", DayRule::ShiftDate),
        by_shift_date
    );
}

#[test]
fn e09_a_break_is_the_peoples_time_and_not_the_spindles() {
    let marks = cut_between("2026-06-10 22:00", "2026-06-11 06:00");
    let report = night_report(
        marks,
        "2026-06-10 22:00",
        "2026-06-11 06:00",
        By::Shift,
        DayRule::Calendar,
    );
    let [row] = report.rows.as_slice() else {
        panic!("one shift")
    };
    assert_eq!(
        (row.cell.realised_s(), row.cell.staffed_s),
        (8 * HOUR_S, 7 * HOUR_S + 30 * MINUTE_S)
    );
    assert_eq!(
        row.cell.seconds[Category::InCycleAttended],
        8 * HOUR_S,
        "somebody is there in the break"
    );
    let of_window = row.cell.share_of_window().unwrap();
    assert_eq!(
        (of_window.part_s, of_window.of_s, of_window.of, of_window.note()),
        (28_800, 28_800, "window", None)
    );
    let of_staffed = row.cell.share_of_staffed().unwrap();
    assert_eq!(format!("{:.1}", of_staffed.percent()), "106.7");
    assert_eq!(
        (of_staffed.part_s, of_staffed.of_s, of_staffed.of),
        (28_800, 27_000, "staffed")
    );
    assert!(of_staffed.note().unwrap().contains("breaks"));
}

#[test]
fn e11_a_cut_without_an_end_counts_up_to_the_row_and_is_provisional() {
    let started = entry(
        1,
        "2026-06-11T02:30:05Z",
        vec![state(local("2026-06-11 04:30"), Active)],
    );
    let ended = entry(
        2,
        "2026-06-11T05:15:05Z",
        vec![state(local("2026-06-11 07:15"), Ready)],
    );
    let night = Window::new(local("2026-06-10 22:00"), local("2026-06-11 06:00"));
    let early = Window::new(local("2026-06-11 06:00"), local("2026-06-11 14:00"));
    let at_eight = local("2026-06-11 08:00");
    let open = sweep(
        &MachineMarks::from_entries([started.clone()]),
        &[night, early],
        &[],
        at_eight,
        None,
    );
    assert_eq!(
        (open[0].seconds.in_cycle(), open[0].still_open),
        (90 * MINUTE_S, true)
    );
    assert_eq!(
        (open[1].seconds.in_cycle(), open[1].window_s),
        (2 * HOUR_S, 2 * HOUR_S),
        "not a second of the future"
    );
    let rows = sweep(
        &MachineMarks::from_entries([started, ended]),
        &[night, early],
        &[],
        at_eight,
        None,
    );
    assert_eq!(
        (rows[0].seconds.in_cycle(), rows[0].still_open),
        (90 * MINUTE_S, false)
    );
    assert_eq!(
        (rows[1].seconds.in_cycle(), rows[1].still_open),
        (75 * MINUTE_S, false)
    );
}

#[test]
fn e15_a_clock_that_is_wrong_by_the_same_at_both_ends_changes_no_duration() {
    for off_by_s in [-7 * MINUTE_S, 0, 7 * MINUTE_S] {
        let (from, to) = (local("2026-06-11 09:15"), local("2026-06-11 10:00"));
        let cycle = Mark::Cycle {
            from: from.plus_s(off_by_s),
            to: to.plus_s(off_by_s),
        };
        let row = one(
            &marks_of(vec![cycle]),
            Window::new(local("2026-06-11 08:00"), local("2026-06-11 12:00")),
        );
        assert_eq!(row.seconds.in_cycle(), 45 * MINUTE_S);
    }
}

#[test]
fn e18_cuts_that_overlap_count_once_and_the_overlap_is_told() {
    let cycle = |from, to| Mark::Cycle {
        from: local(from),
        to: local(to),
    };
    let marks = marks_of(vec![
        cycle("2026-06-11 08:00", "2026-06-11 09:00"),
        cycle("2026-06-11 08:50", "2026-06-11 09:30"),
    ]);
    let row = one(
        &marks,
        Window::new(local("2026-06-11 06:00"), local("2026-06-11 14:00")),
    );
    assert_eq!(row.seconds.in_cycle(), 90 * MINUTE_S);
    assert_eq!(row.cycle_overlap_us, 10 * MINUTE_S * 1_000_000);
    assert_eq!(
        row.seconds[Category::NotKnown],
        8 * HOUR_S - 90 * MINUTE_S,
        "nothing says what was between"
    );
}

#[test]
fn e19_a_stop_for_an_alarm_is_not_spindle_time() {
    let marks = marks_of(vec![
        state(local("2026-06-10 20:00"), Active),
        state(local("2026-06-10 20:10"), Interrupted),
        state(local("2026-06-11 06:00"), Active),
        state(local("2026-06-11 06:35"), Ready),
    ]);
    let row = one(
        &marks,
        Window::new(local("2026-06-10 20:00"), local("2026-06-11 06:35")),
    );
    assert_eq!(row.seconds.in_cycle(), 45 * MINUTE_S);
    assert_eq!(row.seconds[Category::StoppedInRun], 9 * HOUR_S + 50 * MINUTE_S);
}

#[test]
fn e20_three_cuts_of_twenty_minutes_are_one_hour() {
    let marks = ["08:00", "08:20", "11:00", "11:20", "13:10", "13:30"]
        .iter()
        .zip([Active, Ready].into_iter().cycle());
    let marks = marks
        .map(|(time, is)| state(local(&format!("2026-06-11 {time}")), is))
        .collect();
    let calendar = every_day(&[]);
    let cut = Cut {
        calendar: &calendar,
        zone: Berlin,
        by: By::Day,
        rule: DayRule::Calendar,
    };
    let request = Window::new(local("2026-06-11 00:00"), local("2026-06-12 00:00"));
    let report = report_of(
        &cut,
        request,
        &[(machine(1), marks_of(marks))],
        &Plans::default(),
        FUTURE,
    );
    assert_eq!(report.total.realised_s(), HOUR_S);
}

/// Common practice, no source.
#[test]
fn one_busy_machine_that_runs_on_beats_two_idle_ones() {
    let calendar = every_day(&[("Day", ("08:00", "16:00"), None)]);
    let cut = Cut {
        calendar: &calendar,
        zone: Tz::UTC,
        by: By::Day,
        rule: DayRule::Calendar,
    };
    let day = wall(Tz::UTC, "2026-06-11 00:00");
    let request = Window::new(day, day.plus_s(86_400));
    let eight = day.plus_s(8 * HOUR_S);
    let busy = |seconds: i64| marks_of(vec![state(eight, Active), state(eight.plus_s(seconds), Ready)]);
    let two = [
        (machine(1), busy(8 * HOUR_S * 30 / 100)),
        (machine(2), busy(8 * HOUR_S * 30 / 100)),
    ];
    let two = report_of(&cut, request, &two, &Plans::default(), FUTURE).total;
    assert_eq!(two.realised_s() * 10, 48 * HOUR_S);
    assert_eq!(
        (
            two.staffed_s * 30,
            two.share_of_staffed().map(|share| share.part_s * 100)
        ),
        (16 * HOUR_S * 30, Some(16 * HOUR_S * 30))
    );
    let after_work = [
        state(day.plus_s(16 * HOUR_S), Active),
        state(day.plus_s(18 * HOUR_S), Ready),
    ];
    let mut marks = vec![
        state(eight, Active),
        state(eight.plus_s(8 * HOUR_S * 70 / 100), Ready),
    ];
    marks.extend(after_work);
    let pool = report_of(
        &cut,
        request,
        &[(machine(3), marks_of(marks))],
        &Plans::default(),
        FUTURE,
    )
    .total;
    assert_eq!(pool.realised_s() * 10, 76 * HOUR_S);
    assert_eq!(pool.seconds[Category::InCycleUnattended], 2 * HOUR_S);
    assert_eq!((pool.realised_s() * 100 / two.realised_s()) - 100, 58);
}

#[test]
fn a_machine_that_falls_silent_is_not_known_and_never_idle() {
    let eight = local("2026-06-11 08:00");
    let marks = marks_of(vec![
        state(eight, Ready),
        state(eight.plus_s(HOUR_S), Ready),
        state(eight.plus_s(5 * HOUR_S), Active),
    ]);
    let window = Window::new(eight.plus_s(-HOUR_S), eight.plus_s(8 * HOUR_S));
    let now = eight.plus_s(8 * HOUR_S);
    let row = sweep(&marks, &[window], &[], now, Some(2 * 3_600)).remove(0);
    assert_eq!(row.seconds[Category::IdleUnattended], 3 * HOUR_S);
    assert_eq!(row.seconds.in_cycle(), 2 * HOUR_S);
    assert_eq!(
        row.seconds[Category::NotKnown],
        4 * HOUR_S,
        "before the first word, and in both silences"
    );
    assert!(!row.still_open, "the silence has ended the run");
}

#[test]
fn cutting_against_a_persons_down_is_in_cycle_and_told() {
    let eight = local("2026-06-11 08:00");
    let marks = marks_of(vec![
        state(eight, Ready),
        Mark::Down {
            at: eight.plus_s(HOUR_S),
            reason: "breakdown".into(),
        },
        state(eight.plus_s(2 * HOUR_S), Active),
        state(eight.plus_s(3 * HOUR_S), Unavailable),
        Mark::Up {
            at: eight.plus_s(5 * HOUR_S),
        },
    ]);
    let row = one(&marks, Window::new(eight, eight.plus_s(6 * HOUR_S)));
    let hours = |category| row.seconds[category] / HOUR_S;
    assert_eq!(
        (hours(Category::IdleUnattended), row.seconds.in_cycle() / HOUR_S),
        (1, 1)
    );
    assert_eq!((hours(Category::Down), hours(Category::NotKnown)), (3, 1));
    assert_eq!(row.in_cycle_against_down_us, HOUR_S * 1_000_000);
}

#[test]
fn outside_of_cycles_a_covered_window_is_idle_and_the_rest_not_known() {
    let eight = local("2026-06-11 08:00");
    let marks = marks_of(vec![
        Mark::Cycle {
            from: eight.plus_s(HOUR_S),
            to: eight.plus_s(2 * HOUR_S),
        },
        Mark::Covered {
            from: eight,
            to: eight.plus_s(4 * HOUR_S),
        },
    ]);
    let row = one(&marks, Window::new(eight, eight.plus_s(8 * HOUR_S)));
    assert_eq!(row.seconds.in_cycle(), HOUR_S);
    assert_eq!(row.seconds[Category::IdleUnattended], 3 * HOUR_S);
    assert_eq!(row.seconds[Category::NotKnown], 4 * HOUR_S);
}
