use super::{at, entry, state, window};
use crate::hours::{RowSeconds, SETTLING_S, TouchedBy, explain, sweep};
use crate::machine_state::MachineState::{Active, Interrupted, Ready};
use crate::stretches::{MachineMarks, Mark, Source};
use crate::time::{Timestamp, Window};

fn early() -> Window {
    window("2026-06-11T06:00:00Z", "2026-06-11T14:00:00Z")
}

fn row(entries: impl IntoIterator<Item = (Source, Vec<Mark>)>) -> RowSeconds {
    sweep(
        &MachineMarks::from_entries(entries),
        &[early()],
        &[],
        Timestamp::MAX,
        None,
    )
    .remove(0)
}

fn live() -> [(Source, Vec<Mark>); 3] {
    [
        entry(
            4,
            "2026-06-11T05:00:01Z",
            vec![state(at("2026-06-11T05:00:00Z"), Ready)],
        ),
        entry(
            5,
            "2026-06-11T07:00:01Z",
            vec![state(at("2026-06-11T07:00:00Z"), Active)],
        ),
        entry(
            9,
            "2026-06-11T14:10:00Z",
            vec![state(at("2026-06-11T13:00:00Z"), Ready)],
        ),
    ]
}

#[test]
fn a_row_names_the_entries_it_rests_on() {
    let touched = row(live()).touched.unwrap();
    let expected = TouchedBy {
        entries: 3,
        first_seq: 4,
        last_seq: 9,
        first_recorded_at: at("2026-06-11T05:00:01Z"),
        last_recorded_at: at("2026-06-11T14:10:00Z"),
    };
    assert_eq!(touched, expected);
    assert_eq!(row([]).touched, None);
    let next_day = entry(
        10,
        "2026-06-12T09:00:00Z",
        vec![state(at("2026-06-11T14:00:00Z"), Ready)],
    );
    assert_eq!(
        row(live().into_iter().chain([next_day])).touched,
        Some(expected),
        "it begins when the row has ended"
    );
}

/// Floor case E16, with a state in place of a count: what arrives at 16:40 for 13:55 is counted in the shift of 13:55,
/// and the shift says that it has changed, and when.
#[test]
fn what_arrives_after_the_row_has_settled_restates_it() {
    assert_eq!(
        row(live()).restated_at,
        None,
        "ten minutes after the end is as expected"
    );
    let late = entry(
        12,
        "2026-06-11T16:40:00Z",
        vec![state(at("2026-06-11T13:55:00Z"), Active)],
    );
    let restated = row(live().into_iter().chain([late]));
    assert_eq!(restated.restated_at, Some(at("2026-06-11T16:40:00Z")));
    assert_eq!(restated.seconds.in_cycle(), 6 * 3_600 + 300);
}

#[test]
fn a_row_settles_a_quarter_of_an_hour_after_its_end_or_its_first_entry() {
    let end = early().to;
    let arriving = |after_s: i64| {
        let mut entry = entry(
            12,
            "2026-06-11T00:00:00Z",
            vec![state(at("2026-06-11T13:55:00Z"), Interrupted)],
        );
        entry.0.recorded_at = end.plus_s(after_s);
        row(live().into_iter().chain([entry])).restated_at
    };
    assert_eq!(arriving(SETTLING_S), None);
    assert_eq!(arriving(SETTLING_S + 1), Some(end.plus_s(SETTLING_S + 1)));
    let imported = [
        entry(
            1,
            "2027-01-01T10:00:00Z",
            vec![state(at("2026-06-11T07:00:00Z"), Active)],
        ),
        entry(
            2,
            "2027-01-01T10:14:00Z",
            vec![state(at("2026-06-11T08:00:00Z"), Ready)],
        ),
    ];
    assert_eq!(
        row(imported.clone()).restated_at,
        None,
        "an old log, imported in one go"
    );
    let again = entry(
        3,
        "2027-01-01T10:16:00Z",
        vec![state(at("2026-06-11T09:00:00Z"), Active)],
    );
    assert_eq!(
        row(imported.into_iter().chain([again])).restated_at,
        Some(at("2027-01-01T10:16:00Z"))
    );
}

#[test]
fn a_state_that_was_replaced_still_tells_when_the_row_was_first_known() {
    let first = entry(
        1,
        "2026-06-11T05:00:01Z",
        vec![state(at("2026-06-11T05:00:00Z"), Active)],
    );
    let instead = entry(
        2,
        "2026-06-13T08:00:00Z",
        vec![state(at("2026-06-11T05:00:00Z"), Ready)],
    );
    let changed = row([first, instead]);
    assert_eq!(changed.seconds.in_cycle(), 0);
    assert_eq!(changed.restated_at, Some(at("2026-06-13T08:00:00Z")));
}

#[test]
fn cycles_and_downs_touch_the_rows_they_reach_into() {
    let cycle = |from: &str, to: &str| Mark::Cycle {
        from: at(from),
        to: at(to),
    };
    let down = |time: &str| Mark::Down {
        at: at(time),
        reason: "tooling".into(),
    };
    let recorded = "2026-06-11T14:00:00Z";
    let marks = MachineMarks::from_entries([
        entry(
            1,
            recorded,
            vec![
                cycle("2026-06-10T20:00:00Z", "2026-06-11T06:00:01Z"),
                cycle("2026-06-10T21:00:00Z", "2026-06-10T22:00:00Z"),
            ],
        ),
        entry(
            2,
            recorded,
            vec![cycle("2026-06-10T21:00:00Z", "2026-06-11T06:00:00Z")],
        ),
        entry(
            3,
            recorded,
            vec![
                cycle("2026-06-11T13:00:00Z", "2026-06-11T15:00:00Z"),
                cycle("2026-06-11T13:30:00Z", "2026-06-11T14:00:00Z"),
            ],
        ),
        entry(4, recorded, vec![down("2026-06-01T00:00:00Z")]),
        entry(
            5,
            recorded,
            vec![Mark::Up {
                at: at("2026-06-11T08:00:00Z"),
            }],
        ),
    ]);
    let after = window("2026-06-11T14:00:00Z", "2026-06-11T22:00:00Z");
    let rows = sweep(&marks, &[early(), after], &[], Timestamp::MAX, None);
    let entries = |row: &RowSeconds| {
        row.touched
            .map(|touched| (touched.entries, touched.first_seq, touched.last_seq))
    };
    assert_eq!(
        entries(&rows[0]),
        Some((4, 1, 5)),
        "entry 2 ended when the row began"
    );
    assert_eq!(entries(&rows[1]), Some((1, 3, 3)), "set up long ago says nothing");
}

#[test]
fn stretches_open_to_the_entries_that_decide_them() {
    let marks = MachineMarks::from_entries([
        entry(
            1,
            "2026-06-11T06:00:00Z",
            vec![state(at("2026-06-11T06:00:00Z"), Ready)],
        ),
        entry(
            2,
            "2026-06-11T08:00:00Z",
            vec![Mark::Down {
                at: at("2026-06-11T08:00:00Z"),
                reason: "tooling".into(),
            }],
        ),
        entry(
            3,
            "2026-06-11T09:00:00Z",
            vec![state(at("2026-06-11T09:00:00Z"), Active)],
        ),
        entry(
            4,
            "2026-06-11T10:00:00Z",
            vec![Mark::Cycle {
                from: at("2026-06-11T09:30:00Z"),
                to: at("2026-06-11T10:00:00Z"),
            }],
        ),
        entry(
            5,
            "2026-06-11T11:00:00Z",
            vec![
                state(at("2026-06-11T11:00:00Z"), Ready),
                Mark::Up {
                    at: at("2026-06-11T11:00:00Z"),
                },
            ],
        ),
    ]);
    let opened = explain(&marks, early(), &[], Timestamp::MAX, None);
    let told: Vec<_> = opened
        .iter()
        .map(|stretch| {
            (
                stretch.category.name(),
                stretch.window.us() / 60_000_000,
                stretch.seqs.clone(),
            )
        })
        .collect();
    let expected = [
        ("idle_unattended", 120, vec![1]),
        ("down", 60, vec![2]),
        ("in_cycle_unattended", 30, vec![2, 3]),
        ("in_cycle_unattended", 30, vec![2, 3, 4]),
        ("in_cycle_unattended", 60, vec![2, 3]),
        ("idle_unattended", 180, vec![5]),
    ];
    assert_eq!(told, expected);
    assert_eq!(
        opened[2].down_reason.as_deref(),
        Some("tooling"),
        "both sides of the contradiction are shown"
    );
    assert_eq!(opened[5].down_reason, None);
    let nothing = explain(&MachineMarks::default(), early(), &[], Timestamp::MAX, None);
    assert_eq!(
        (nothing.len(), nothing[0].category.name(), nothing[0].seqs.len()),
        (1, "not_known", 0)
    );
}

#[test]
fn an_open_down_time_is_provisional_and_an_ended_one_is_not() {
    let down = entry(
        1,
        "2026-06-11T08:00:00Z",
        vec![Mark::Down {
            at: at("2026-06-11T08:00:00Z"),
            reason: "tooling".into(),
        }],
    );
    let up = entry(
        2,
        "2026-06-12T08:00:00Z",
        vec![Mark::Up {
            at: at("2026-06-12T08:00:00Z"),
        }],
    );
    assert!(row([down.clone()]).still_open);
    assert!(!row([down, up]).still_open);
    let idle = entry(
        1,
        "2026-06-11T08:00:00Z",
        vec![state(at("2026-06-11T08:00:00Z"), Ready)],
    );
    assert!(!row([idle]).still_open, "a machine at rest owes no end");
}

/// Nothing was said within the row; a state of 05:30, delivered in the afternoon, replaced what it had inherited.
#[test]
fn a_late_state_before_the_row_restates_it_too() {
    let early = entry(
        4,
        "2026-06-11T05:00:01Z",
        vec![state(at("2026-06-11T05:00:00Z"), Ready)],
    );
    let late = entry(
        9,
        "2026-06-11T16:40:00Z",
        vec![state(at("2026-06-11T05:30:00Z"), Active)],
    );
    assert_eq!(row([early.clone()]).restated_at, None);
    assert_eq!(
        row([early, late.clone()]).restated_at,
        Some(at("2026-06-11T16:40:00Z"))
    );
    assert_eq!(
        row([late]).restated_at,
        None,
        "nothing was known of the row before"
    );
}
