//! The sweep against a model that asks of every second what it was, and knows nothing of sweeping.

use super::entry;
use crate::hours::{ByCategory, Category, RowSeconds, explain, sweep};
use crate::machine_state::{MachineState, Meaning};
use crate::stretches::{MachineMarks, Mark};
use crate::time::{Timestamp, US_PER_SECOND, Window};
use proptest::prelude::*;

const SECONDS: i64 = 120;

fn second(second: i64) -> Timestamp {
    Timestamp::MIN.plus_s(second)
}

fn instant() -> impl Strategy<Value = Timestamp> {
    (0..SECONDS).prop_map(second)
}

fn span(longest: i64) -> impl Strategy<Value = Window> {
    (0..SECONDS, 1..longest).prop_map(|(from, length)| Window::new(second(from), second(from + length)))
}

fn mark() -> impl Strategy<Value = Mark> {
    prop_oneof![
        6 => (instant(), 0..12_u8).prop_map(|(at, code)| Mark::State { at, state: MachineState::from_code(code).unwrap() }),
        2 => span(30).prop_map(|span| Mark::Cycle { from: span.from, to: span.to }),
        1 => span(60).prop_map(|span| Mark::Covered { from: span.from, to: span.to }),
        1 => (instant(), 0..2_u8).prop_map(|(at, reason)| Mark::Down { at, reason: reason.to_string() }),
        1 => instant().prop_map(|at| Mark::Up { at }),
    ]
}

/// Sorted and disjoint, with and without gaps between them.
fn windows() -> impl Strategy<Value = Vec<Window>> {
    prop::collection::btree_set(-10..SECONDS + 10, 0..12).prop_flat_map(|edges| {
        let edges: Vec<_> = edges.into_iter().collect();
        let kept = prop::collection::vec(any::<bool>(), edges.len());
        kept.prop_map(move |kept| {
            let pairs = edges.windows(2).zip(&kept).filter(|(_, kept)| **kept);
            pairs
                .map(|(pair, _)| Window::new(second(pair[0]), second(pair[1])))
                .collect()
        })
    })
}

#[derive(Clone, Debug)]
struct Case {
    marks: Vec<Mark>,
    windows: Vec<Window>,
    attended: Vec<Window>,
    as_of: Timestamp,
    silent_after_s: Option<u32>,
}

prop_compose! {
    fn case()(
        marks in prop::collection::vec(mark(), 0..40),
        windows in windows(),
        attended in windows(),
        as_of in prop_oneof![3 => Just(Timestamp::MAX), 1 => instant()],
        silent_after_s in prop::option::of(0..40_u32),
    ) -> Case {
        Case { marks, windows, attended, as_of, silent_after_s }
    }
}

fn marks_of(marks: &[Mark]) -> MachineMarks {
    MachineMarks::from_entries([entry(1, "2020-01-01T00:00:00Z", marks.to_vec())])
}

fn swept(case: &Case) -> Vec<RowSeconds> {
    sweep(
        &marks_of(&case.marks),
        &case.windows,
        &case.attended,
        case.as_of,
        case.silent_after_s,
    )
}

/// What the second that begins at `at` was; how many cycles lay over it; whether a person had set the machine down.
fn model(case: &Case, at: Timestamp) -> (Category, usize, bool) {
    let mut said: Option<(Timestamp, MachineState)> = None;
    let mut set: Option<(Timestamp, bool)> = None;
    let (mut cycles, mut covered) = (0, false);
    for mark in case.marks.iter().filter(|mark| mark.at() <= at) {
        let told = mark.at();
        let is_newer = set.is_none_or(|last| last.0 <= told);
        match *mark {
            Mark::State { state, .. } if said.is_none_or(|last| last.0 <= told) => said = Some((told, state)),
            Mark::Down { .. } if is_newer => set = Some((told, true)),
            Mark::Up { .. } if is_newer => set = Some((told, false)),
            Mark::Cycle { to, .. } => cycles += usize::from(at < to && !is_repeat(case, mark)),
            Mark::Covered { to, .. } => covered |= at < to,
            _ => {}
        }
    }
    let spoken = said.filter(|(told, _)| {
        case.silent_after_s
            .is_none_or(|silent| at < told.plus_s(silent.into()))
    });
    let says = spoken.map_or(Meaning::NotKnown, |(_, state)| state.meaning());
    let down = set.is_some_and(|(_, down)| down);
    let attended = case.attended.iter().any(|window| window.contains(at));
    let category = match (says, cycles > 0) {
        (Meaning::InCycle, _) | (_, true) if attended => Category::InCycleAttended,
        (Meaning::InCycle, _) | (_, true) => Category::InCycleUnattended,
        (Meaning::Off, _) => Category::Off,
        _ if down => Category::Down,
        (Meaning::NotKnown, _) if !covered => Category::NotKnown,
        (Meaning::StoppedInRun, _) => Category::StoppedInRun,
        _ if attended => Category::IdleAttended,
        _ => Category::IdleUnattended,
    };
    (category, cycles, down)
}

/// The same cycle told twice is one cycle.
fn is_repeat(case: &Case, mark: &Mark) -> bool {
    let first = case.marks.iter().find(|other| *other == mark);
    !std::ptr::eq(first.unwrap(), mark)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn the_sweep_agrees_with_the_model_second_by_second(case in case()) {
        for (row, window) in swept(&case).iter().zip(&case.windows) {
            let mut expected = ByCategory::default();
            let (mut overlap, mut against_down) = (0, 0);
            let mut at = window.from;
            while at < window.to.min(case.as_of) {
                let (category, cycles, down) = model(&case, at);
                expected[category] += 1;
                overlap += i64::from(cycles > 1);
                against_down += i64::from(down && category.is_in_cycle());
                at = at.plus_s(1);
            }
            prop_assert_eq!(row.us.0, expected.0.map(|seconds| seconds * US_PER_SECOND));
            prop_assert_eq!(row.seconds, expected);
            prop_assert_eq!(row.cycle_overlap_us, overlap * US_PER_SECOND);
            prop_assert_eq!(row.in_cycle_against_down_us, against_down * US_PER_SECOND);
        }
    }

    #[test]
    fn every_row_adds_up_to_its_window(case in case()) {
        for (row, window) in swept(&case).iter().zip(&case.windows) {
            let seen = Window::new(window.from, window.to.min(case.as_of));
            prop_assert_eq!(row.us.sum(), seen.us());
            prop_assert_eq!(row.seconds.sum(), row.window_s);
        }
    }

    /// Entry by entry, in the order in which they came, whatever the borders between the entries.
    #[test]
    fn any_split_into_entries_gives_the_same_hours(case in case(), cuts in prop::collection::vec(any::<bool>(), 40)) {
        let mut entries = vec![entry(1, "2020-01-01T00:00:00Z", Vec::new())];
        for (mark, cut) in case.marks.iter().zip(cuts) {
            if cut {
                let seq = u64::try_from(entries.len()).unwrap() + 1;
                entries.push(entry(seq, "2020-01-01T00:00:00Z", Vec::new()));
            }
            entries.last_mut().unwrap().1.push(mark.clone());
        }
        let marks = MachineMarks::from_entries(entries);
        let split = sweep(&marks, &case.windows, &case.attended, case.as_of, case.silent_after_s);
        let hours = |rows: &[RowSeconds]| rows.iter().map(|row| (row.us, row.cycle_overlap_us, row.still_open)).collect::<Vec<_>>();
        prop_assert_eq!(hours(&split), hours(&swept(&case)));
    }

    #[test]
    fn opened_stretches_follow_each_other_and_add_up_to_the_row(case in case()) {
        let marks = marks_of(&case.marks);
        for (row, window) in swept(&case).iter().zip(&case.windows) {
            let stretches = explain(&marks, *window, &case.attended, case.as_of, case.silent_after_s);
            let mut us = ByCategory::default();
            let mut at = window.from;
            for stretch in stretches {
                prop_assert_eq!(stretch.window.from, at);
                prop_assert!(!stretch.window.is_empty());
                prop_assert!(stretch.category == Category::NotKnown || stretch.seqs == [1]);
                us[stretch.category] += stretch.window.us();
                at = stretch.window.to;
            }
            prop_assert_eq!(us, row.us);
        }
    }

    #[test]
    fn hours_do_not_depend_on_when_it_was(case in case(), moved_us in -1_000_000_000_000_i64..1_000_000_000_000) {
        let moved = |at: Timestamp| at.plus_us(moved_us);
        let moved_window = |window: &Window| Window::new(moved(window.from), moved(window.to));
        let marks = case.marks.iter().map(|mark| match mark.clone() {
            Mark::State { at, state } => Mark::State { at: moved(at), state },
            Mark::Cycle { from, to } => Mark::Cycle { from: moved(from), to: moved(to) },
            Mark::Covered { from, to } => Mark::Covered { from: moved(from), to: moved(to) },
            Mark::Down { at, reason } => Mark::Down { at: moved(at), reason },
            Mark::Up { at } => Mark::Up { at: moved(at) },
            other => other,
        }).collect();
        let other = Case {
            marks,
            windows: case.windows.iter().map(moved_window).collect(),
            attended: case.attended.iter().map(moved_window).collect(),
            as_of: moved(case.as_of),
            silent_after_s: case.silent_after_s,
        };
        let us = |case| swept(case).iter().map(|row| row.us).collect::<Vec<_>>();
        prop_assert_eq!(us(&case), us(&other));
    }
}
