use super::{
    BatchCounts, CYCLE_MAX_S, DayMarks, Layer, LayerDays, MachineMarks, Mark, Merged, NotLoaded, Portion,
    RUN_REACH_S, Source, StretchDays, by_row, needs_of, normalise, span_of,
};
use crate::actor::Actor;
use crate::entry::EntryMeta;
use crate::ids::{CellId, MachineId, PalletId, RunId, SetupId, Track};
use crate::machine_state::MachineState::{self, Active, Interrupted, Ready};
use crate::pool::PalletState;
use crate::run::Purpose;
use crate::time::{Timestamp, US_PER_DAY, US_PER_SECOND, Window};
use proptest::prelude::*;

const DAY: i64 = 20_000;

fn at(second: i64) -> Timestamp {
    Timestamp(DAY * US_PER_DAY + second * US_PER_SECOND)
}

fn state(second: i64, state: MachineState) -> Mark {
    Mark::State {
        at: at(second),
        state,
    }
}

fn entry(seq: u64) -> Source {
    Source {
        seq,
        recorded_at: at(1_000 + i64::try_from(seq).unwrap()),
    }
}

fn merged(layer: Layer, entries: &[&[Mark]]) -> (DayMarks, Vec<Merged>) {
    let mut day = DayMarks::new(layer);
    let counts = entries
        .iter()
        .zip(1..)
        .map(|(marks, seq)| day.merge(entry(seq), marks))
        .collect();
    (day, counts)
}

/// (second, state, seq) of all that is known.
fn told(marks: &MachineMarks) -> Vec<(i64, MachineState, u64)> {
    let seq = |source: u32| marks.sources[source as usize].seq;
    marks
        .signals
        .iter()
        .map(|mark| {
            (
                mark.at.since_us(at(0)) / US_PER_SECOND,
                mark.state,
                seq(mark.source),
            )
        })
        .collect()
}

#[test]
fn layer_codes_never_change() {
    assert_eq!(Layer::ALL.map(Layer::code), [1, 2, 3, 4, 5, 6, 7, 8, 9]);
    assert!(
        Layer::ALL
            .iter()
            .all(|layer| Layer::from_code(layer.code()) == Some(*layer))
    );
    assert_eq!(Layer::from_code(0), None);
    assert_eq!(Layer::from_code(10), None);
}

#[test]
fn marks_are_sorted_in_and_each_points_to_its_entry() {
    let (day, counts) = merged(
        Layer::Signals,
        &[
            &[state(10, Active), state(30, Ready)],
            &[state(20, Interrupted), state(40, Active)],
        ],
    );
    assert!(counts.iter().all(|count| *count
        == Merged {
            added: 2,
            repeated: 0,
            misplaced: 0
        }));
    let marks = MachineMarks::from_rows([day]);
    assert_eq!(
        told(&marks),
        [
            (10, Active, 1),
            (20, Interrupted, 2),
            (30, Ready, 1),
            (40, Active, 2)
        ]
    );
}

#[test]
fn a_repeat_is_dropped_and_counted_and_its_entry_leaves_no_trace() {
    let rows = [state(10, Active), state(30, Ready)];
    let (day, counts) = merged(Layer::Signals, &[&rows, &rows]);
    assert_eq!(
        counts[1],
        Merged {
            added: 0,
            repeated: 2,
            misplaced: 0
        }
    );
    assert_eq!(day, merged(Layer::Signals, &[&rows]).0);
}

#[test]
fn the_same_state_later_is_no_repeat() {
    let (day, _) = merged(Layer::Signals, &[&[state(10, Active)], &[state(11, Active)]]);
    assert_eq!(day.len(), 2);
}

/// A log with whole seconds often has several states in one.
#[test]
fn of_one_instant_the_last_told_stands() {
    let both: &[&[Mark]] = &[&[state(10, Active), state(10, Ready), state(10, Active)]];
    let apart: &[&[Mark]] = &[&[state(10, Active), state(10, Ready)], &[state(10, Active)]];
    for entries in [both, apart] {
        let marks = MachineMarks::from_rows([merged(Layer::Signals, entries).0]);
        assert_eq!(told(&marks).last().unwrap().1, Active);
    }
}

#[test]
fn cycles_all_stand_and_only_the_same_one_is_a_repeat() {
    let cycle = |from, to| Mark::Cycle {
        from: at(from),
        to: at(to),
    };
    let covered = |from, to| Mark::Covered {
        from: at(from),
        to: at(to),
    };
    let (day, counts) = merged(
        Layer::Cycles,
        &[
            &[cycle(0, 9), cycle(0, 8), covered(0, 8)],
            &[cycle(5, 7), cycle(0, 9), covered(0, 8)],
        ],
    );
    assert_eq!(
        counts[1],
        Merged {
            added: 1,
            repeated: 2,
            misplaced: 0
        }
    );
    let marks = MachineMarks::from_rows([day]);
    assert_eq!((marks.cycles.len(), marks.covers.len()), (3, 1));
}

#[test]
fn downs_and_readings_are_merged_too() {
    let down = |second, reason: &str| Mark::Down {
        at: at(second),
        reason: reason.into(),
    };
    let (_, counts) = merged(
        Layer::Downs,
        &[
            &[down(0, "coolant"), Mark::Up { at: at(9) }],
            &[down(0, "coolant"), down(0, "spindle"), Mark::Up { at: at(9) }],
        ],
    );
    assert_eq!(
        counts[1],
        Merged {
            added: 1,
            repeated: 2,
            misplaced: 0
        }
    );
    let reading = |second, in_cut_s| Mark::Reading {
        at: at(second),
        powered_on_s: 100,
        in_cut_s,
        reset: false,
    };
    let (_, counts) = merged(
        Layer::Readings,
        &[&[reading(0, 5)], &[reading(0, 5), reading(0, 6)]],
    );
    assert_eq!(
        counts[1],
        Merged {
            added: 1,
            repeated: 1,
            misplaced: 0
        }
    );
}

#[test]
fn a_mark_of_another_layer_is_told_and_not_taken() {
    let (day, counts) = merged(Layer::Signals, &[&[Mark::Up { at: at(0) }, state(1, Ready)]]);
    assert_eq!(
        counts[0],
        Merged {
            added: 1,
            repeated: 0,
            misplaced: 1
        }
    );
    assert_eq!(day.len(), 1);
}

#[test]
fn a_row_is_packed_and_read_again() {
    let marks: Vec<_> = (0..1_000)
        .map(|second| state(second * 80, if second % 2 == 0 { Active } else { Ready }))
        .collect();
    let (day, _) = merged(Layer::Signals, &[&marks[..600], &marks[600..]]);
    let packed = postcard::to_stdvec(&day).unwrap();
    assert!(packed.len() < 7 * marks.len(), "{} bytes", packed.len());
    assert_eq!(postcard::from_bytes::<DayMarks>(&packed).unwrap(), day);
    let layers: [&[Mark]; 3] = [
        &[
            Mark::Cycle {
                from: at(5),
                to: at(70),
            },
            Mark::Covered {
                from: at(0),
                to: at(90),
            },
        ],
        &[
            Mark::Down {
                at: at(3),
                reason: "coolant".into(),
            },
            Mark::Up { at: at(4) },
        ],
        &[Mark::Reading {
            at: at(1),
            powered_on_s: 9,
            in_cut_s: 3,
            reset: true,
        }],
    ];
    for (layer, marks) in [Layer::Cycles, Layer::Downs, Layer::Readings]
        .into_iter()
        .zip(layers)
    {
        let (day, _) = merged(layer, &[marks]);
        assert_eq!(day.len(), marks.len());
        let packed = postcard::to_stdvec(&day).unwrap();
        assert_eq!(postcard::from_bytes::<DayMarks>(&packed).unwrap(), day);
        let text = serde_json::to_string(&day).unwrap();
        assert_eq!(serde_json::from_str::<DayMarks>(&text).unwrap(), day);
    }
}

#[test]
fn a_damaged_row_is_refused_when_it_is_read() {
    let (day, _) = merged(Layer::Signals, &[&[state(0, Active), state(9, Ready)]]);
    let sound = serde_json::to_value(&day).unwrap();
    let mut no_such_entry = sound.clone();
    no_such_entry["marks"]["Signals"][1]["source"] = 1.into();
    let mut unsorted = sound.clone();
    unsorted["marks"]["Signals"][1]["at"] = (-5).into();
    assert!(serde_json::from_value::<DayMarks>(sound).is_ok());
    for damaged in [no_such_entry, unsorted] {
        let refusal = serde_json::from_value::<DayMarks>(damaged).unwrap_err();
        assert!(refusal.to_string().contains("must be sorted"), "{refusal}");
    }
}

#[test]
fn an_entry_is_laid_into_the_rows_of_its_days() {
    let midnight = US_PER_DAY / US_PER_SECOND;
    let cycle = Mark::Cycle {
        from: at(midnight - 1),
        to: at(midnight + 9),
    };
    let track = Track(uuid::Uuid::nil());
    let marks = [
        state(midnight, Ready),
        state(5, Active),
        state(midnight - 1, Interrupted),
        cycle.clone(),
    ];
    let rows = by_row(marks.map(|mark| (track, mark)));
    let expected = [
        (
            (track, Layer::Signals, DAY),
            vec![state(5, Active), state(midnight - 1, Interrupted)],
        ),
        ((track, Layer::Signals, DAY + 1), vec![state(midnight, Ready)]),
        ((track, Layer::Cycles, DAY), vec![cycle]),
    ];
    assert_eq!(rows.into_iter().collect::<Vec<_>>(), expected);
}

#[test]
fn rows_are_put_together_in_any_order() {
    let midnight = US_PER_DAY / US_PER_SECOND;
    let mut first = DayMarks::new(Layer::Signals);
    let mut second = DayMarks::new(Layer::Signals);
    first.merge(entry(1), &[state(midnight - 5, Active)]);
    second.merge(entry(1), &[state(midnight + 5, Ready)]);
    first.merge(entry(2), &[state(midnight - 4, Interrupted)]);
    let forward = MachineMarks::from_rows([first.clone(), second.clone()]);
    assert_eq!(forward, MachineMarks::from_rows([second, first]));
    assert_eq!(forward.sources, [entry(1), entry(2)]);
    assert_eq!(
        told(&forward).iter().map(|mark| mark.2).collect::<Vec<_>>(),
        [1, 2, 1]
    );
}

#[test]
fn what_a_window_needs_reaches_back_for_what_stands_and_for_the_longest_cycle_and_run() {
    let needs = needs_of(Window::new(at(0), at(86_400)));
    let told = |need: &LayerDays| {
        assert_eq!(need.last_day, DAY, "the end of a window is not in it");
        let days_back = DAY - need.first_day;
        (need.layer, days_back, need.last_before, need.first_after)
    };
    let (cycle_days, run_days) = (CYCLE_MAX_S / 86_400, RUN_REACH_S / 86_400);
    let of_machine = [
        (Layer::Signals, 0, true, true),
        (Layer::Cycles, cycle_days, true, false),
        (Layer::Downs, 0, true, true),
        (Layer::Readings, 0, true, true),
        (Layer::Runs, run_days, true, true),
        (Layer::Counted, run_days, false, false),
    ];
    assert_eq!(needs.machine.each_ref().map(told), of_machine);
    assert_eq!(told(&needs.pallet), (Layer::Pallets, 0, true, true));
    assert_eq!(told(&needs.cell), (Layer::Work, 0, true, false));
}

#[test]
fn a_batch_is_sorted_and_counted() {
    let known = MachineMarks::from_entries([(entry(1), vec![state(10, Active), state(20, Ready)])]);
    let batch = [
        (at(20), Ready),       // stands already
        (at(15), Interrupted), // late
        (at(30), Ready),       // a sign of life
        (at(40), Active),
        (at(35), Interrupted), // late in the batch
        (at(40), Ready),       // replaces the other of its instant
    ];
    let new = normalise(&known.signals, None, &batch);
    assert_eq!(
        new.rows,
        [
            (at(15), Interrupted),
            (at(30), Ready),
            (at(35), Interrupted),
            (at(40), Ready)
        ]
    );
    let counts = BatchCounts {
        accepted: 4,
        repeated: 1,
        superseded: 1,
        out_of_order: 2,
        unchanged: 1,
    };
    assert_eq!(new.counts, counts);
    assert_eq!(
        normalise(&known.signals, None, &[]),
        super::NormalisedBatch::default()
    );
}

#[test]
fn a_batch_sent_twice_is_all_repeats() {
    let batch = [
        (at(1), Active),
        (at(2), Ready),
        (at(2), Active),
        (at(2), Ready),
        (at(9), Interrupted),
    ];
    let first = normalise(&[], None, &batch);
    let marks = first
        .rows
        .iter()
        .map(|row| Mark::State {
            at: row.0,
            state: row.1,
        })
        .collect();
    let known = MachineMarks::from_entries([(entry(1), marks)]);
    let again = normalise(&known.signals, None, &batch);
    assert_eq!(again.rows, []);
    assert_eq!((again.counts.repeated, again.counts.superseded), (3, 2));
}

#[test]
fn a_span_holds_all_its_instants() {
    assert_eq!(span_of([]), None);
    let span = span_of([at(5), at(1), at(3)]).unwrap();
    assert!(span.contains(at(1)) && span.contains(at(5)) && !span.contains(at(6)));
}

/// Marks of each of the layers that people fill.
fn of_people() -> Vec<(Layer, Vec<Mark>)> {
    let id = uuid::Uuid::from_u128;
    let (run, pallet) = (RunId(id(7)), PalletId(id(8)));
    let acts = vec![
        Mark::RunStarted {
            at: at(0),
            run,
            pallet,
            purpose: Purpose::FirstPiece,
            cycle_s: 600,
            exchange_s: 45,
        },
        Mark::RunPaused {
            at: at(5),
            run,
            reason: "alarm".into(),
        },
        Mark::RunResumed { at: at(6), run },
        Mark::RunEnded {
            at: at(9),
            run,
            aborted: true,
        },
    ];
    let states = PalletState::ALL.iter().copied().zip(0..);
    let pallets = states.map(|(state, second)| Mark::PalletState {
        at: at(second),
        cell: CellId(id(9)),
        at_machine: (second > 3).then_some(MachineId(id(10))),
        state,
    });
    let work = vec![
        Mark::WorkOpen {
            at: at(0),
            open: true,
        },
        Mark::WorkOpen {
            at: at(8),
            open: false,
        },
    ];
    let counted = vec![Mark::Counted {
        from: at(0),
        to: at(9),
        run,
        purpose: Purpose::FirstPiece,
        earned_s: 400,
        produced_s: 600,
        produced: 6,
        good: 4,
        scrap: 1,
    }];
    vec![
        (Layer::Runs, acts),
        (Layer::Pallets, pallets.collect()),
        (Layer::Work, work),
        (Layer::Counted, counted),
        (Layer::Jobs, of_jobs()),
    ]
}

fn of_jobs() -> Vec<Mark> {
    let id = uuid::Uuid::from_u128;
    let (part, whole) = (600, 1_200);
    let portion = Portion { part, whole };
    vec![
        Mark::JobSetup {
            at: at(0),
            setup: SetupId(id(11)),
            operation: 10,
            portion,
            us: 900_000_000,
        },
        Mark::JobRun {
            at: at(0),
            run: RunId(id(7)),
            machine: MachineId(id(10)),
            operation: 10,
            portion,
            cycle_s: 600,
        },
    ]
}

#[test]
fn what_people_say_is_merged_packed_and_read_again() {
    for (layer, marks) in of_people() {
        assert!(marks.iter().all(|mark| mark.layer() == layer));
        let (day, counts) = merged(layer, &[&marks, &marks]);
        let (added, repeated) = (counts[0].added, counts[1].repeated);
        assert_eq!((added, repeated), (marks.len(), marks.len()), "{layer:?}");
        let packed = postcard::to_stdvec(&day).unwrap();
        assert_eq!(postcard::from_bytes::<DayMarks>(&packed).unwrap(), day);
        let text = serde_json::to_string(&day).unwrap();
        assert_eq!(serde_json::from_str::<DayMarks>(&text).unwrap(), day);
    }
}

#[test]
fn two_runs_at_one_instant_do_not_replace_each_other() {
    let resumed = |number| Mark::RunResumed {
        at: at(0),
        run: RunId(uuid::Uuid::from_u128(number)),
    };
    let (day, counts) = merged(Layer::Runs, &[&[resumed(2)], &[resumed(1)], &[resumed(2)]]);
    assert_eq!((day.len(), counts[2].repeated), (2, 1));
}

#[test]
fn a_row_that_was_not_read_is_never_begun_anew() {
    let (track, other) = (Track(uuid::Uuid::from_u128(1)), Track(uuid::Uuid::from_u128(2)));
    let meta = |seq| EntryMeta {
        seq,
        occurred_at: at(0),
        recorded_at: at(0),
        actor: Actor::System,
    };
    let known = (track, Layer::Signals, DAY);
    let mut days = StretchDays::default();
    let (stored, _) = merged(Layer::Signals, &[&[state(0, Active), state(5, Ready)]]);
    days.insert(known, stored.clone());
    let before = days.clone();
    let unread = (other, Layer::Signals, DAY);
    let both = vec![(track, state(9, Active)), (other, state(9, Active))];
    assert_eq!(days.apply_marks(both.clone(), &meta(2)), Err(NotLoaded(unread)));
    assert_eq!(days, before, "nothing of the entry was folded in");
    days.insert(unread, DayMarks::new(Layer::Signals));
    assert_eq!(days.apply_marks(both.clone(), &meta(2)), Ok(vec![known, unread]));
    assert_eq!(days.get(&known).unwrap().len(), stored.len() + 1);
    let mut whole = StretchDays::whole();
    assert_eq!(whole.apply_marks(both, &meta(2)), Ok(vec![known, unread]));
}

prop_compose! {
    fn batches()(rows in prop::collection::vec((0..40_i64, 0..4_u8), 0..40))
        (cuts in prop::collection::vec(0..=rows.len(), 0..5), rows in Just(rows)) -> (Vec<(Timestamp, MachineState)>, Vec<usize>) {
        let rows = rows.into_iter().map(|(second, code)| (at(second), MachineState::from_code(code).unwrap())).collect();
        let mut cuts = cuts;
        cuts.sort_unstable();
        (rows, cuts)
    }
}

/// The state of each instant at which any is told.
fn standing(marks: &MachineMarks) -> Vec<(Timestamp, MachineState)> {
    let mut standing: Vec<_> = marks.signals.iter().map(|mark| (mark.at, mark.state)).collect();
    standing.reverse();
    standing.dedup_by_key(|row| row.0);
    standing.reverse();
    standing
}

proptest! {
    /// Through the comparison with what is known, and through merging alone.
    #[test]
    fn any_split_of_a_batch_leaves_the_same_states((rows, cuts) in batches()) {
        let edges: Vec<_> = [0].into_iter().chain(cuts).chain([rows.len()]).collect();
        let pieces: Vec<_> = edges.windows(2).map(|pair| &rows[pair[0]..pair[1]]).collect();
        let marks = |rows: &[(Timestamp, MachineState)]| rows.iter().map(|row| Mark::State { at: row.0, state: row.1 }).collect::<Vec<_>>();
        let whole = MachineMarks::from_entries([(entry(1), marks(&rows))]);
        let raw = MachineMarks::from_entries(pieces.iter().zip(1..).map(|(piece, seq)| (entry(seq), marks(piece))));
        prop_assert_eq!(standing(&whole), standing(&raw));
        let mut entries = Vec::new();
        let mut known = MachineMarks::default();
        for (piece, seq) in pieces.iter().zip(1..) {
            let new = normalise(&known.signals, None, piece);
            prop_assert_eq!(new.counts.accepted + new.counts.repeated + new.counts.superseded, piece.len());
            entries.push((entry(seq), marks(&new.rows)));
            known = MachineMarks::from_entries(entries.clone());
            prop_assert_eq!(known.signals.len(), entries.iter().map(|entry| entry.1.len()).sum::<usize>());
        }
        prop_assert_eq!(standing(&whole), standing(&known));
    }
}
