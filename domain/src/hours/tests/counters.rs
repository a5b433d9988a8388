use super::{HOUR_S, MINUTE_S, at, data, marks_of};
use crate::hours::{CounterSeconds, Figures, counters};
use crate::stretches::Mark;
use crate::time::{Timestamp, Window};
use proptest::prelude::*;

fn start() -> Timestamp {
    at("2026-06-11T06:00:00Z")
}

/// (seconds since the start, powered on, in cut)
fn reading((second, powered_on_s, in_cut_s): (i64, i64, i64)) -> Mark {
    Mark::Reading {
        at: start().plus_s(second),
        powered_on_s,
        in_cut_s,
        reset: false,
    }
}

fn window(from_s: i64, to_s: i64) -> Window {
    Window::new(start().plus_s(from_s), start().plus_s(to_s))
}

fn counted(readings: Vec<Mark>, windows: &[Window]) -> Vec<Option<CounterSeconds>> {
    counters(&marks_of(readings).readings, windows, Timestamp::MAX)
}

#[test]
fn two_readings_give_the_hours_between_them() {
    let readings = vec![
        reading((0, 1_000, 200)),
        reading((8 * HOUR_S, 1_000 + 7 * HOUR_S, 200 + 3 * HOUR_S)),
    ];
    let [Some(row)] = counted(readings, &[window(0, 8 * HOUR_S)])[..] else {
        panic!("a pair covers it")
    };
    let expected = CounterSeconds {
        powered_on_s: 7 * HOUR_S,
        in_cut_s: 3 * HOUR_S,
        covered_s: 8 * HOUR_S,
        shared_s: 0,
    };
    assert_eq!(row, expected);
    let figures = Figures {
        counters: Some(row),
        ..Figures::default()
    };
    let utilisation = figures.utilisation().unwrap();
    assert_eq!((utilisation.part_s, utilisation.of_s), (3 * HOUR_S, 7 * HOUR_S));
    assert!(utilisation.of.contains("powered on"));
}

#[test]
fn a_pair_over_the_edge_of_a_row_is_shared_by_time_and_told() {
    let readings = vec![
        reading((0, 0, 0)),
        reading((100, 100, 50)),
        reading((400, 301, 150)),
    ];
    let rows = counted(readings, &[window(0, 200), window(200, 400), window(400, 500)]);
    let first = CounterSeconds {
        powered_on_s: 100 + 67,
        in_cut_s: 50 + 33,
        covered_s: 200,
        shared_s: 100,
    };
    let second = CounterSeconds {
        powered_on_s: 134,
        in_cut_s: 67,
        covered_s: 200,
        shared_s: 200,
    };
    assert_eq!(rows, [Some(first), Some(second), None]);
}

#[test]
fn a_counter_that_starts_anew_gives_no_hours_across_the_start() {
    let reset = |second, powered_on_s| Mark::Reading {
        at: start().plus_s(second),
        powered_on_s,
        in_cut_s: 95,
        reset: true,
    };
    let rows = [window(0, 100), window(100, 200)];
    let replaced = counted(
        vec![reading((0, 500, 90)), reset(100, 600), reading((200, 680, 135))],
        &rows,
    );
    assert_eq!(
        replaced[0], None,
        "also where it stands higher than the one before"
    );
    assert_eq!(
        replaced[1].map(|row| (row.powered_on_s, row.in_cut_s)),
        Some((80, 40))
    );
    let backwards = counted(vec![reading((0, 500, 90)), reading((100, 400, 95))], &rows);
    assert_eq!(backwards, [None, None]);
    assert_eq!(counted(vec![reading((0, 500, 90))], &rows), [None, None]);
}

#[test]
fn of_two_readings_at_one_instant_the_last_one_stands() {
    let readings = vec![
        reading((0, 0, 0)),
        reading((100, 999, 999)),
        reading((100, 90, 30)),
        reading((200, 180, 60)),
    ];
    let rows = counted(readings, &[window(0, 200)]);
    assert_eq!(
        rows[0].map(|row| (row.powered_on_s, row.in_cut_s, row.shared_s)),
        Some((180, 60, 0))
    );
}

/// Source: NIST test bed, machine 03, 2016-05-05 (tests/data/nist/README.md): the control's counters of total and cutting
/// time grew by 40,352 and 15,486 s that day.
#[test]
fn a_day_of_the_test_bed_by_its_counters() {
    let text = data("nist/machine03_truth_day.csv");
    let day = text.lines().find(|line| line.starts_with("20160505")).unwrap();
    let fields: Vec<i64> = day
        .split(',')
        .skip(9)
        .map(|field| field.parse().unwrap())
        .collect();
    let [cut_s, total_s] = fields[..] else {
        panic!("two counters")
    };
    let from = at("2016-05-05T05:00:00Z");
    let reading = |at, powered_on_s, in_cut_s| Mark::Reading {
        at,
        powered_on_s,
        in_cut_s,
        reset: false,
    };
    let marks = marks_of(vec![
        reading(from, 7, 3),
        reading(from.plus_s(86_400), 7 + total_s, 3 + cut_s),
    ]);
    let halves = [
        Window::new(from, from.plus_s(43_200)),
        Window::new(from.plus_s(43_200), from.plus_s(86_400)),
    ];
    let rows = counters(&marks.readings, &halves, Timestamp::MAX);
    let [Some(first), Some(second)] = rows[..] else {
        panic!("both are covered")
    };
    assert_eq!(
        (
            first.in_cut_s + second.in_cut_s,
            first.powered_on_s + second.powered_on_s
        ),
        (15_486, 40_352)
    );
    assert_eq!((first.shared_s, second.shared_s), (43_200, 43_200));
}

proptest! {
    #[test]
    fn rows_that_tile_a_pair_share_all_of_its_hours(
        edges in prop::collection::btree_set(-MINUTE_S..5 * MINUTE_S, 0..9),
        readings in prop::collection::vec((1..MINUTE_S, 0..MINUTE_S, 0..MINUTE_S), 2..6),
    ) {
        let mut at_s = (0, 0, 0);
        let readings: Vec<_> = readings.into_iter().map(|step| {
            at_s = (at_s.0 + step.0, at_s.1 + step.1, at_s.2 + step.2);
            at_s
        }).collect();
        let (first, last) = (readings[0], readings[readings.len() - 1]);
        let inner = edges.into_iter().filter(|edge| (first.0 + 1..last.0).contains(edge));
        let edges: Vec<_> = [first.0].into_iter().chain(inner).chain([last.0]).collect();
        let windows: Vec<_> = edges.windows(2).map(|pair| window(pair[0], pair[1])).collect();
        let rows = counted(readings.into_iter().map(reading).collect(), &windows);
        let mut sum = CounterSeconds::default();
        rows.iter().flatten().for_each(|row| sum.add(row));
        prop_assert_eq!((sum.powered_on_s, sum.in_cut_s), (last.1 - first.1, last.2 - first.2));
        prop_assert_eq!(sum.covered_s, last.0 - first.0);
    }
}
