//! What people and the pool say: floor cases and a day by hand. What is right in each: common practice, no source,
//! unless the sum stands beside it.

use super::{HOUR_S, MINUTE_S, at, every_day, wall};
use crate::calendar::{attended, staffed};
use crate::hours::rows::{By, Cut, DayRule, rows};
use crate::hours::{
    Category, CellInput, Figures, MachineInput, Plans, RowSeconds, Stretch, explain, report, sweep,
};
use crate::ids::{CellId, MachineId, PalletId, RunId, Track};
use crate::machine_state::MachineState::{self, Active, FeedHold, Off, Ready, Unavailable};
use crate::pool::PalletState;
use crate::run::Purpose;
use crate::stretches::{MachineMarks, Mark, Source};
use crate::time::{Timestamp, Window};
use chrono_tz::Europe::Berlin;
use chrono_tz::Tz;
use uuid::Uuid;

pub const MACHINE: MachineId = MachineId(Uuid::from_u128(0xa1));
pub const CELL: CellId = CellId(Uuid::from_u128(0xc1));

pub fn pallet(number: u128) -> PalletId {
    PalletId(Uuid::from_u128(0xb0 + number))
}

pub fn run(number: u128) -> RunId {
    RunId(Uuid::from_u128(0xd0 + number))
}

type Said = (Track, Mark);

fn started(at: Timestamp, number: u128, on: u128, cycle_s: i64) -> Said {
    let mark = Mark::RunStarted {
        at,
        run: run(number),
        pallet: pallet(on),
        purpose: Purpose::Production,
        cycle_s: u32::try_from(cycle_s).unwrap(),
        exchange_s: 120,
    };
    (MACHINE.into(), mark)
}

fn for_purpose(said: Said, is: Purpose) -> Said {
    match said {
        (
            track,
            Mark::RunStarted {
                at,
                run,
                pallet,
                cycle_s,
                exchange_s,
                ..
            },
        ) => {
            let mark = Mark::RunStarted {
                at,
                run,
                pallet,
                purpose: is,
                cycle_s,
                exchange_s,
            };
            (track, mark)
        }
        other => other,
    }
}

fn ended(at: Timestamp, number: u128) -> Said {
    let mark = Mark::RunEnded {
        at,
        run: run(number),
        aborted: false,
    };
    (MACHINE.into(), mark)
}

fn paused(at: Timestamp, number: u128, reason: &str) -> Said {
    let mark = Mark::RunPaused {
        at,
        run: run(number),
        reason: reason.into(),
    };
    (MACHINE.into(), mark)
}

fn resumed(at: Timestamp, number: u128) -> Said {
    let mark = Mark::RunResumed { at, run: run(number) };
    (MACHINE.into(), mark)
}

fn is(at: Timestamp, number: u128, state: PalletState) -> Said {
    let mark = Mark::PalletState {
        at,
        cell: CELL,
        at_machine: None,
        state,
    };
    (pallet(number).into(), mark)
}

fn is_at_spindle(at: Timestamp, number: u128, state: PalletState) -> Said {
    let mark = Mark::PalletState {
        at,
        cell: CELL,
        at_machine: Some(MACHINE),
        state,
    };
    (pallet(number).into(), mark)
}

fn work(at: Timestamp, open: bool) -> Said {
    (CELL.into(), Mark::WorkOpen { at, open })
}

fn says(at: Timestamp, state: MachineState) -> Said {
    (MACHINE.into(), Mark::State { at, state })
}

/// Each an entry of its own, recorded when it happened.
fn marks(said: impl IntoIterator<Item = Said>) -> MachineMarks {
    let entries = said.into_iter().zip(1..).map(|(said, seq)| {
        let recorded_at = said.1.at();
        (Source { seq, recorded_at }, vec![said])
    });
    MachineMarks::of_entries(MACHINE, CELL, entries)
}

fn local(time: &str) -> Timestamp {
    wall(Berlin, time)
}

fn one(marks: &MachineMarks, window: Window, as_of: Timestamp) -> RowSeconds {
    sweep(marks, &[window], &[], as_of, None).remove(0)
}

#[test]
fn e01_a_recorded_run_in_the_night_in_which_the_clocks_go_back() {
    let told = marks([
        is(local("2026-10-24 21:50"), 1, PalletState::Ready),
        started(local("2026-10-24 22:05"), 1, 1, 10 * HOUR_S),
        ended(local("2026-10-25 06:10"), 1),
    ]);
    let window = Window::new(local("2026-10-24 21:50"), local("2026-10-25 06:10"));
    let row = one(&told, window, Timestamp::MAX);
    assert_eq!(row.seconds.in_cycle(), 9 * HOUR_S + 5 * MINUTE_S);
    assert_eq!(row.in_cycle_by_people_us, row.us.in_cycle());
    assert_eq!(row.seconds[Category::ReadyNotStarted], 15 * MINUTE_S);
}

#[test]
fn e11_a_run_without_an_end_is_credited_as_far_as_evidence_goes() {
    let start = started(local("2026-06-11 04:30"), 1, 1, 3 * HOUR_S);
    let night = Window::new(local("2026-06-10 22:00"), local("2026-06-11 06:00"));
    let early = Window::new(local("2026-06-11 06:00"), local("2026-06-11 14:00"));
    let eight = local("2026-06-11 08:00");
    let both = |told: &MachineMarks, as_of| {
        let rows = sweep(told, &[night, early], &[], as_of, None);
        rows.into_iter()
            .map(|row| {
                let seconds = row.seconds;
                let not_known_s = seconds[Category::NotKnown] / MINUTE_S;
                (seconds.in_cycle() / MINUTE_S, not_known_s, row.still_open)
            })
            .collect::<Vec<_>>()
    };
    // 04:30 to 06:00 is 90 min; the three hours that were planned end at 07:30, and until 08:00 nothing is known. Before
    // the first entry of all, from 22:00 to 04:30, nothing is known either.
    let open = both(&marks([start.clone()]), eight);
    assert_eq!(open, [(90, 390, true), (90, 30, true)]);
    let told = marks([start.clone(), ended(local("2026-06-11 07:15"), 1)]);
    let closed = both(&told, local("2026-06-11 14:00"));
    assert_eq!(closed, [(90, 390, false), (75, 0, false)]);
    let rows = sweep(&told, &[night], &[], Timestamp::MAX, None);
    assert_eq!(
        rows[0].restated_at, None,
        "it has become final, and did not change"
    );
}

#[test]
fn an_end_that_proves_more_than_was_planned_restates_the_row() {
    let night = Window::new(local("2026-06-10 22:00"), local("2026-06-11 06:00"));
    let start = started(local("2026-06-11 04:30"), 1, 1, HOUR_S);
    let end = local("2026-06-11 07:15");
    let open = one(&marks([start.clone()]), night, local("2026-06-11 08:00"));
    assert_eq!(open.seconds.in_cycle(), 60 * MINUTE_S);
    let row = one(&marks([start, ended(end, 1)]), night, local("2026-06-11 08:00"));
    assert_eq!(
        (row.seconds.in_cycle(), row.restated_at),
        (90 * MINUTE_S, Some(end))
    );
}

#[test]
fn a_later_act_proves_the_end_that_nobody_told() {
    let six = at("2026-06-11T06:00:00Z");
    let window = Window::new(six, six.plus_s(4 * HOUR_S));
    let minutes = |told: Vec<Said>| {
        let row = one(&marks(told), window, Timestamp::MAX);
        let of = |category| row.seconds[category] / MINUTE_S;
        let idle = of(Category::UnattendedRunOut) + of(Category::IdleUnattended);
        (
            row.seconds.in_cycle() / MINUTE_S,
            of(Category::NotKnown),
            of(Category::PalletExchange),
            idle,
            row.still_open,
        )
    };
    let start = started(six, 1, 1, 90 * MINUTE_S);
    let in_run = is_at_spindle(six, 1, PalletState::InRun);
    let left = |after| is(six.plus_s(after * MINUTE_S), 1, PalletState::Cut);
    // It left after 60 of its 90 minutes, or 30 minutes after they were over.
    let early = vec![start.clone(), in_run.clone(), left(60)];
    assert_eq!(minutes(early), (60, 0, 0, 180, false));
    let late = vec![start.clone(), in_run, left(120)];
    assert_eq!(minutes(late), (90, 30, 0, 120, false));
    // The next run began after 70 minutes, and ran for 20: the pallets changed at some time before, nobody knows when.
    let next = [
        started(six.plus_s(70 * MINUTE_S), 2, 2, HOUR_S),
        ended(six.plus_s(90 * MINUTE_S), 2),
    ];
    let told = [start].into_iter().chain(next).collect();
    assert_eq!(minutes(told), (90, 0, 0, 150, false));
}

#[test]
fn e18_two_runs_on_one_spindle_count_once_and_the_overlap_is_told() {
    let eight = at("2026-06-11T08:00:00Z");
    let told = marks([
        started(eight, 1, 1, HOUR_S),
        started(eight.plus_s(50 * MINUTE_S), 2, 2, HOUR_S),
        ended(eight.plus_s(60 * MINUTE_S), 1),
        ended(eight.plus_s(90 * MINUTE_S), 2),
    ]);
    let row = one(
        &told,
        Window::new(eight, eight.plus_s(2 * HOUR_S)),
        Timestamp::MAX,
    );
    assert_eq!(row.seconds.in_cycle(), 90 * MINUTE_S);
    assert_eq!(row.run_overlap_us, 10 * MINUTE_S * 1_000_000);
    let opened = explain(
        &told,
        Window::new(eight.plus_s(50 * MINUTE_S), eight.plus_s(60 * MINUTE_S)),
        &[],
        Timestamp::MAX,
        None,
    );
    assert_eq!((opened.len(), opened[0].runs_in_cycle), (1, 2));
    assert_eq!(opened[0].seqs, [1, 2, 3, 4], "both of its sides");
}

#[test]
fn e19_a_night_in_alarm_is_stopped_time_with_its_reason() {
    let eight_in_the_evening = at("2026-06-10T20:00:00Z");
    let told = marks([
        started(eight_in_the_evening, 1, 1, HOUR_S),
        paused(at("2026-06-10T20:10:00Z"), 1, "alarm"),
        resumed(at("2026-06-11T06:00:00Z"), 1),
        ended(at("2026-06-11T06:35:00Z"), 1),
    ]);
    let window = Window::new(eight_in_the_evening, at("2026-06-11T06:35:00Z"));
    let row = one(&told, window, Timestamp::MAX);
    assert_eq!(row.seconds.in_cycle(), 45 * MINUTE_S);
    let stopped_s = 9 * HOUR_S + 50 * MINUTE_S;
    assert_eq!(row.seconds[Category::StoppedInRun], stopped_s);
    assert_eq!(row.stopped_s, [("alarm".to_owned(), stopped_s)].into());
    assert_eq!(
        row.window_s,
        10 * HOUR_S + 35 * MINUTE_S,
        "elapsed, and only that"
    );
    let opened = explain(&told, window, &[], Timestamp::MAX, None);
    let told: Vec<_> = opened
        .iter()
        .map(|one| (one.category.name(), one.stop_reason.as_deref(), one.seqs.clone()))
        .collect();
    let expected = [
        ("in_cycle_unattended", None, vec![1, 2, 4]),
        ("stopped_in_run", Some("alarm"), vec![1, 2, 3, 4]),
        ("in_cycle_unattended", None, vec![1, 3, 4]),
    ];
    assert_eq!(told, expected);
}

#[test]
fn e63_where_all_loaded_pallets_are_held_the_spindle_waits_for_inspection() {
    let nine = at("2026-06-11T09:00:00Z");
    let attended = Window::new(nine.plus_s(-HOUR_S), nine.plus_s(HOUR_S));
    let told = marks([
        work(nine.plus_s(-HOUR_S), true),
        is(nine.plus_s(-HOUR_S), 1, PalletState::Ready),
        is(nine.plus_s(-HOUR_S), 2, PalletState::Held),
        is(nine.plus_s(-HOUR_S), 3, PalletState::Empty),
        is_at_spindle(nine.plus_s(-HOUR_S), 1, PalletState::InRun),
        started(nine.plus_s(-HOUR_S), 1, 1, HOUR_S),
        ended(nine, 1),
        is(nine, 1, PalletState::Held),
        is(nine.plus_s(50 * MINUTE_S), 2, PalletState::Ready),
    ]);
    let window = Window::new(nine, nine.plus_s(HOUR_S));
    let row = sweep(&told, &[window], &[attended], Timestamp::MAX, None).remove(0);
    assert_eq!(row.seconds[Category::WaitingForInspection], 50 * MINUTE_S);
    assert_eq!(row.seconds[Category::ReadyNotStarted], 10 * MINUTE_S);
    let opened = explain(&told, window, &[attended], Timestamp::MAX, None);
    assert_eq!(opened[0].seqs, [3, 8], "the two that are held");
}

#[test]
fn a_machines_word_outranks_peoples_and_the_difference_is_told() {
    let eight = at("2026-06-11T08:00:00Z");
    let after = |minutes: i64| eight.plus_s(minutes * MINUTE_S);
    let told = marks([
        says(eight, Ready),
        started(after(10), 1, 1, HOUR_S),
        says(after(20), Active),
        says(after(40), Ready),
        ended(after(45), 1),
        says(after(50), Active),
        says(after(55), Unavailable),
    ]);
    let row = one(&told, Window::new(eight, after(60)), Timestamp::MAX);
    assert_eq!(row.seconds.in_cycle(), 25 * MINUTE_S, "20 to 40 and 50 to 55");
    assert_eq!(row.in_cycle_by_people_us, 0);
    // 10 to 20 and 40 to 45 people had a run where the machine stood, 50 to 55 the reverse.
    let disagree_us = 20 * MINUTE_S * 1_000_000;
    assert_eq!(row.people_and_machine_disagree_us, disagree_us);
    assert_eq!(row.by_purpose_s.of(Purpose::Production), 20 * MINUTE_S);
    assert_eq!(row.by_purpose_s.no_run(), 5 * MINUTE_S);
    assert_eq!(
        row.seconds[Category::NotKnown],
        5 * MINUTE_S,
        "it fell silent, and no run covers it"
    );
    let opened = explain(&told, Window::new(eight, after(60)), &[], Timestamp::MAX, None);
    let disagreeing = opened.iter().filter(|one| one.people_and_machine_disagree);
    let us: i64 = disagreeing.map(|one| one.window.us()).sum();
    assert_eq!(us, disagree_us, "the reconciliation list");
}

#[test]
fn without_a_word_of_the_pool_or_of_work_there_is_no_reason() {
    let eight = at("2026-06-11T08:00:00Z");
    let window = Window::new(eight, eight.plus_s(HOUR_S));
    let of = |told: Vec<Said>, people: &[Window]| {
        let row = sweep(&marks(told), &[window], people, Timestamp::MAX, None).remove(0);
        let whole = Category::ALL.into_iter().find(|one| row.seconds[*one] == HOUR_S);
        whole.unwrap().name()
    };
    let ready = says(eight, Ready);
    let empty = is(eight, 1, PalletState::Empty);
    let there = [window];
    assert_eq!(of(vec![], &there), "not_known");
    assert_eq!(of(vec![ready.clone()], &there), "idle_attended");
    assert_eq!(of(vec![ready.clone()], &[]), "idle_unattended");
    assert_eq!(of(vec![empty.clone()], &there), "idle_attended");
    assert_eq!(of(vec![empty.clone()], &[]), "unattended_run_out");
    assert_eq!(
        of(vec![empty.clone(), work(eight, true)], &there),
        "waiting_for_load"
    );
    assert_eq!(of(vec![empty, work(eight, false)], &there), "no_work");
    assert_eq!(of(vec![work(eight, true)], &there), "not_known");
    assert_eq!(of(vec![ready, work(eight, true)], &there), "waiting_for_load");
}

/// The pieces of a run that went over two rows are worth in each what of its time lay there.
#[test]
fn earned_hours_are_shared_out_as_the_time_in_cycle_is() {
    let five = at("2026-06-11T05:00:00Z");
    let after = |minutes: i64| five.plus_s(minutes * MINUTE_S);
    let counted = |earned_s, good, seq| {
        let mark = Mark::Counted {
            from: five,
            to: after(100),
            run: run(1),
            purpose: Purpose::Production,
            earned_s,
            produced_s: 6_000,
            produced: 10,
            good,
            scrap: 10 - good,
        };
        let (recorded_at, said) = (after(200), vec![(MACHINE.into(), mark)]);
        (Source { seq, recorded_at }, said)
    };
    let source = Source {
        seq: 1,
        recorded_at: after(100),
    };
    let acts = vec![
        started(five, 1, 1, 6_000),
        paused(after(70), 1, "tool"),
        resumed(after(90), 1),
        ended(after(100), 1),
    ];
    let rows_of = |entries: Vec<_>| {
        let told = MachineMarks::of_entries(MACHINE, CELL, entries);
        let windows = [
            Window::new(after(-60), after(60)),
            Window::new(after(60), after(300)),
        ];
        let rows = sweep(&told, &windows, &[], Timestamp::MAX, None);
        rows.iter().map(|row| row.earned.unwrap()).collect::<Vec<_>>()
    };
    let open = rows_of(vec![(source, acts.clone())]);
    assert_eq!(open.iter().map(|row| row.uncounted_runs).sum::<i64>(), 2);
    assert_eq!(open[0].earned_s, 0);
    // In cycle 80 min: 60 in the first row, 10 + 10 in the second. Of 4,800 s the first row has 3,600.
    let rows = rows_of(vec![(source, acts), counted(5_400, 9, 2), counted(4_800, 8, 3)]);
    assert_eq!((rows[0].earned_s, rows[1].earned_s), (3_600, 1_200));
    assert_eq!((rows[0].produced_s, rows[1].produced_s), (4_500, 1_500));
    assert_eq!((rows[0].good, rows[1].good, rows[1].scrap), (0, 8, 2));
    assert_eq!(rows[0].uncounted_runs + rows[1].uncounted_runs, 0);
}

fn hm(time: &str) -> Timestamp {
    at(&format!("2026-06-11T{time}:00Z"))
}

/// One day with every category that a pool gives. Somebody is there from 06:00 to 14:00.
fn a_day() -> MachineMarks {
    use PalletState::{Cut, Empty, Held, InRun, InSetup, ReadyAttendedOnly};
    let before = at("2026-06-10T20:00:00Z");
    marks([
        work(before, true),
        is(before, 1, Held),
        is(before, 2, Empty),
        is(before, 3, ReadyAttendedOnly),
        says(hm("00:00"), Off),
        says(hm("01:00"), Ready),
        is(hm("02:00"), 1, Empty),
        says(hm("03:00"), Unavailable),
        says(hm("04:00"), Ready),
        is(hm("04:00"), 2, PalletState::Ready),
        started(hm("05:00"), 1, 2, 2 * HOUR_S),
        is_at_spindle(hm("05:00"), 2, InRun),
        says(hm("05:00"), Active),
        says(hm("06:30"), FeedHold),
        paused(hm("06:30"), 1, "alarm"),
        says(hm("06:40"), Active),
        resumed(hm("06:40"), 1),
        says(hm("07:00"), Ready),
        ended(hm("07:00"), 1),
        is_at_spindle(hm("07:00"), 2, Cut),
        for_purpose(started(hm("07:30"), 2, 3, HOUR_S), Purpose::ProveOut),
        is_at_spindle(hm("07:30"), 3, InRun),
        is(hm("07:30"), 2, Cut),
        says(hm("07:30"), Active),
        says(hm("08:30"), Ready),
        ended(hm("08:30"), 2),
        is_at_spindle(hm("08:30"), 3, InSetup),
        is(hm("09:00"), 3, Empty),
        is(hm("09:00"), 2, Empty),
        work(hm("10:00"), false),
        (
            MACHINE.into(),
            Mark::Down {
                at: hm("11:00"),
                reason: "breakdown".into(),
            },
        ),
        (MACHINE.into(), Mark::Up { at: hm("12:00") }),
        says(hm("12:00"), Unavailable),
        for_purpose(started(hm("12:00"), 3, 1, HOUR_S), Purpose::Rework),
        is_at_spindle(hm("12:00"), 1, InRun),
        ended(hm("13:00"), 3),
        is_at_spindle(hm("13:00"), 1, Cut),
        says(hm("13:00"), Ready),
        (
            MACHINE.into(),
            Mark::Counted {
                from: hm("05:00"),
                to: hm("07:00"),
                run: run(1),
                purpose: Purpose::Production,
                earned_s: 6 * 900,
                produced_s: 7 * 900,
                produced: 7,
                good: 6,
                scrap: 1,
            },
        ),
    ])
}

fn figures_of_the_day() -> Figures {
    let calendar = every_day(&[("Day", ("06:00", "14:00"), None)]);
    let request = Window::new(hm("00:00"), at("2026-06-12T00:00:00Z"));
    let cut = Cut {
        calendar: &calendar,
        zone: Tz::UTC,
        by: By::Day,
        rule: DayRule::Calendar,
    };
    let told = a_day();
    let cell = CellInput {
        staffed: &staffed(&calendar, Tz::UTC, request),
        attended: &attended(&calendar, Tz::UTC, request),
        plans: &Plans::default(),
        machines: &[MachineInput {
            machine: MACHINE,
            marks: &told,
            silent_after_s: None,
        }],
    };
    report(rows(&cut, request, Timestamp::MAX), &cell, Timestamp::MAX).total
}

#[test]
fn a_day_by_hand_has_every_category() {
    let figures = figures_of_the_day();
    let minutes = Category::ALL.map(|category| (category.name(), figures.seconds[category] / MINUTE_S));
    let expected = [
        ("in_cycle_attended", 170),     // 06:00-06:30, 06:40-07:00, 07:30-08:30, 12:00-13:00
        ("in_cycle_unattended", 60),    // 05:00-06:00
        ("off", 60),                    // 00:00-01:00
        ("down", 60),                   // 11:00-12:00
        ("not_known", 60),              // 03:00-04:00
        ("stopped_in_run", 10),         // 06:30-06:40
        ("pallet_exchange", 2),         // 07:28-07:30
        ("setup_at_spindle", 30),       // 08:30-09:00
        ("waiting_for_inspection", 60), // 01:00-02:00: one is held, the other may not run alone
        ("ready_not_started", 88),      // 04:00-05:00, 07:00-07:28
        ("waiting_for_load", 60),       // 09:00-10:00
        ("unattended_run_out", 660),    // 02:00-03:00, 14:00-24:00
        ("no_work", 120),               // 10:00-11:00, 13:00-14:00
        ("idle_attended", 0),
        ("idle_unattended", 0),
    ];
    assert_eq!(minutes, expected);
    assert_eq!(expected.map(|one| one.1).iter().sum::<i64>(), 24 * 60);
    let minutes_of = |purpose: &Purpose| figures.by_purpose_s.of(*purpose) / MINUTE_S;
    let by_purpose: Vec<_> = Purpose::ALL.iter().map(minutes_of).collect();
    assert_eq!(
        by_purpose,
        [110, 60, 60, 0],
        "production, prove-out, rework, first piece"
    );
    assert_eq!(figures.by_purpose_s.no_run(), 0);
    assert_eq!(
        figures.in_cycle_by_people_s, HOUR_S,
        "12:00-13:00, the machine was silent"
    );
    assert_eq!(figures.stopped_s, [("alarm".to_owned(), 600)].into());
    assert_eq!(figures.down_s, [("breakdown".to_owned(), HOUR_S)].into());
    assert_eq!(figures.people_and_machine_disagree_s, 0);
    assert!(!figures.provisional);
}

/// APT 170 min (230 in cycle less 60 prove-out), ASUT 90 min (30 setup, 60 prove-out), ADET 70 min (10 stopped, 60
/// down), PBT 480 min, PRI · PQ 7 × 15 min. The formulas are those of ISO 22400-2.
#[test]
fn the_indicators_of_the_day_by_hand() {
    let kpis = figures_of_the_day().kpis();
    let told: Vec<_> = kpis
        .iter()
        .map(|kpi| (kpi.name, format!("{:.4}", kpi.value)))
        .collect();
    let expected = [
        ("availability", "0.3542"),           // 170 ÷ 480
        ("allocation_efficiency", "0.6875"),  // 330 ÷ 480
        ("utilization_efficiency", "0.5152"), // 170 ÷ 330
        ("effectiveness", "0.6176"),          // 105 ÷ 170
        ("quality_ratio", "0.8571"),          // 6 ÷ 7
        ("scrap_ratio", "0.1429"),            // 1 ÷ 7
        ("setup_ratio", "0.3462"),            // 90 ÷ 260
        ("technical_efficiency", "0.7083"),   // 170 ÷ 240
        ("oee_index", "0.1875"),              // 6 × 15 ÷ 480
        ("nee_index", "0.2868"),              // 260 ÷ 480 × 105 ÷ 170 × 6 ÷ 7
    ];
    assert_eq!(told, expected.map(|(name, value)| (name, value.to_owned())));
    let availability = &kpis[0];
    assert!(availability.of_name.contains("staffed less planned downtime"));
    assert!((availability.of - 28_800.0).abs() < f64::EPSILON);
    assert_eq!(Figures::default().kpis(), []);
}

#[test]
fn every_stretch_of_the_day_opens_to_its_entries() {
    let told = a_day();
    let window = Window::new(hm("00:00"), at("2026-06-12T00:00:00Z"));
    let there = [Window::new(hm("06:00"), hm("14:00"))];
    let opened = explain(&told, window, &there, Timestamp::MAX, None);
    let at_time =
        |time: &str| -> &Stretch { opened.iter().find(|one| one.window.contains(hm(time))).unwrap() };
    let seqs = |time| (at_time(time).category.name(), at_time(time).seqs.as_slice());
    assert_eq!(seqs("01:30"), ("waiting_for_inspection", &[2, 6][..]));
    assert_eq!(seqs("04:30"), ("ready_not_started", &[4, 9, 10][..]));
    assert_eq!(seqs("07:29"), ("pallet_exchange", &[18, 19, 21][..]));
    assert_eq!(seqs("08:45"), ("setup_at_spindle", &[25, 27][..]));
    assert_eq!(seqs("10:30"), ("no_work", &[7, 25, 28, 29, 30][..]));
    assert_eq!(seqs("12:30"), ("in_cycle_attended", &[34, 36][..]));
    assert!(at_time("12:30").by_people);
    assert_eq!(at_time("12:30").purpose, Some(Purpose::Rework));
    assert_eq!(at_time("06:35").stop_reason.as_deref(), Some("alarm"));
}
