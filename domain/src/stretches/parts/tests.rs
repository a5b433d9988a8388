use super::*;
use crate::ids::{CellId, RunId, SetupId};
use crate::machine_state::MachineState;
use crate::pool::PalletState;
use crate::run::Purpose;
use crate::stretches::{Layer, Mark, Portion, Source};
use crate::time::{Timestamp, US_PER_SECOND};
use proptest::prelude::*;

fn at(second: i64) -> Timestamp {
    Timestamp(second * US_PER_SECOND)
}

fn source(seq: Seq) -> Source {
    Source {
        seq,
        recorded_at: at(100_000 + seq.cast_signed()),
    }
}

/// One entry after the other, each of so many states at these seconds.
fn day_of(entries: &[Vec<(i64, u8)>]) -> DayMarks {
    let mut day = DayMarks::new(Layer::Signals);
    for (entry, seq) in entries.iter().zip(1..) {
        let marks: Vec<_> = entry
            .iter()
            .map(|(second, code)| Mark::State {
                at: at(*second),
                state: MachineState::from_code(*code).unwrap(),
            })
            .collect();
        day.merge(source(seq), &marks);
    }
    day
}

fn all_parts(day: &DayMarks) -> Vec<DayMarks> {
    day.parts_after(0).into_iter().map(|(_, part)| part).collect()
}

fn one_by_one(entries: i64) -> Vec<Vec<(i64, u8)>> {
    (0..entries)
        .map(|second| vec![(second, u8::from(second % 2 == 0) + 1)])
        .collect()
}

#[test]
fn an_ordinary_day_is_one_part_and_a_long_one_several() {
    assert_eq!(DayMarks::new(Layer::Signals).parts_after(0), []);
    let day = day_of(&one_by_one(100));
    assert_eq!(day.parts_after(0), [(0, day.clone())]);
    let long = day_of(&one_by_one(300));
    let lengths: Vec<_> = all_parts(&long).iter().map(DayMarks::len).collect();
    assert_eq!(lengths, [128, 128, 44]);
}

#[test]
fn an_entry_is_never_cut_in_two() {
    let batch = |from: i64| {
        (from..from + 1_000)
            .map(|second| (second, u8::from(second % 2 == 0) + 1))
            .collect()
    };
    let day = day_of(&[vec![(0, 1)], batch(10), vec![(5, 2)], batch(2_000)]);
    let lengths: Vec<_> = all_parts(&day).iter().map(DayMarks::len).collect();
    assert_eq!(lengths, [1_001, 1_001]);
}

#[test]
fn a_full_part_stays_as_it_is_whatever_comes_later() {
    let mut entries = one_by_one(200);
    let before = all_parts(&day_of(&entries));
    entries.push(vec![(7, 3), (8, 3)]);
    let day = day_of(&entries);
    assert_eq!(all_parts(&day)[0], before[0]);
    let changed: Vec<_> = day
        .parts_after(200)
        .into_iter()
        .map(|(number, _)| number)
        .collect();
    assert_eq!(changed, [1]);
    assert_eq!(day.parts_after(201), []);
}

#[test]
fn a_day_of_each_layer_of_devices_is_joined_again() {
    assert_eq!(DayMarks::join([]), None);
    let marks = |seq: i64| {
        [
            vec![Mark::State {
                at: at(seq),
                state: MachineState::Active,
            }],
            vec![
                Mark::Cycle {
                    from: at(700 - seq),
                    to: at(900 - seq),
                },
                Mark::Covered {
                    from: at(700 - seq),
                    to: at(900 - seq),
                },
            ],
            vec![
                Mark::Down {
                    at: at(seq),
                    reason: "tooling".into(),
                },
                Mark::Up { at: at(seq) },
            ],
            vec![Mark::Reading {
                at: at(700 - seq),
                powered_on_s: seq,
                in_cut_s: seq,
                reset: false,
            }],
        ]
    };
    let of_devices = [Layer::Signals, Layer::Cycles, Layer::Downs, Layer::Readings];
    for (position, layer) in of_devices.into_iter().enumerate() {
        let mut day = DayMarks::new(layer);
        for seq in 1..600 {
            day.merge(source(seq), &marks(seq.cast_signed())[position]);
        }
        let parts = all_parts(&day);
        assert!(parts.len() > 1, "{layer:?}");
        assert_eq!(DayMarks::join(parts), Some(day), "{layer:?}");
    }
}

#[test]
fn a_day_of_each_layer_of_people_is_joined_again() {
    let run = RunId(uuid::Uuid::from_u128(7));
    let marks = |seq: i64| {
        [
            vec![
                Mark::RunPaused {
                    at: at(700 - seq),
                    run,
                    reason: seq.to_string(),
                },
                Mark::RunResumed {
                    at: at(700 + seq),
                    run,
                },
            ],
            vec![Mark::PalletState {
                at: at(700 - seq),
                cell: CellId(uuid::Uuid::from_u128(8)),
                at_machine: None,
                state: PalletState::Ready,
            }],
            vec![Mark::WorkOpen {
                at: at(seq),
                open: seq % 2 == 0,
            }],
            vec![Mark::JobSetup {
                at: at(700 - seq),
                setup: SetupId(uuid::Uuid::from_u128(9)),
                operation: 10,
                portion: Portion { part: 1, whole: 2 },
                us: seq,
            }],
            vec![Mark::Counted {
                from: at(700 - seq),
                to: at(900),
                run,
                purpose: Purpose::Rework,
                earned_s: seq,
                produced_s: seq,
                produced: 1,
                good: 1,
                scrap: 0,
            }],
        ]
    };
    let of_people = [
        Layer::Runs,
        Layer::Pallets,
        Layer::Work,
        Layer::Jobs,
        Layer::Counted,
    ];
    for (position, layer) in of_people.into_iter().enumerate() {
        let mut day = DayMarks::new(layer);
        for seq in 1..600 {
            day.merge(source(seq), &marks(seq.cast_signed())[position]);
        }
        let parts = all_parts(&day);
        assert!(parts.len() > 1, "{layer:?}");
        assert_eq!(DayMarks::join(parts), Some(day), "{layer:?}");
    }
}

proptest! {
    /// Late rows, repeats and rows of one instant among them.
    #[test]
    fn parts_are_the_day_and_follow_from_it_alone(
        entries in prop::collection::vec(prop::collection::vec((0..400_i64, 0..3_u8), 0..200), 1..20),
        after in 0..20_u64,
    ) {
        let day = day_of(&entries);
        let parts = day.parts_after(0);
        let changed: Vec<_> = parts
            .iter()
            .filter(|(_, part)| part.sources().last().unwrap().seq > after)
            .cloned()
            .collect();
        prop_assert_eq!(day.parts_after(after), changed);
        let joined = DayMarks::join(parts.into_iter().map(|(_, part)| part));
        prop_assert_eq!(joined.unwrap_or_else(|| DayMarks::new(Layer::Signals)), day);
    }
}
