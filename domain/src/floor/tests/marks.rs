//! What acts on the floor say about the time of machines and pallets.

use super::small_shop::*;
use crate::floor::{PauseRun, ResumeRun};
use crate::hours::{Category, RowSeconds, explain, sweep};
use crate::ids::Track;
use crate::job::{Counts, ReportInspected};
use crate::run::{PauseReason, Purpose};
use crate::shop::given::{cell, machine};
use crate::stretches::MachineMarks;
use crate::time::{Timestamp, Window};

/// All that hours read of machine 1, as the writer would have stored it.
fn marks(floor: &Floor) -> MachineMarks {
    let shop = &floor.given.shop;
    let pallets = shop.pallets_of(cell(1)).into_iter().map(Track::from);
    let read: Vec<_> = [machine(1).into(), cell(1).into()]
        .into_iter()
        .chain(pallets)
        .collect();
    let rows = floor.given.stretches.iter();
    let rows = rows.filter(|((track, _, _), _)| read.contains(track));
    let rows = rows.map(|((track, _, _), marks)| (*track, marks.clone()));
    MachineMarks::of_machine(machine(1), cell(1), rows)
}

fn since(floor: &Floor, from: Timestamp) -> RowSeconds {
    let window = Window::new(from, floor.at());
    sweep(&marks(floor), &[window], &[window], floor.at(), None).remove(0)
}

#[test]
fn a_run_with_a_pause_is_in_cycle_and_stopped_and_then_its_pallet_waits() {
    let mut floor = Floor::running();
    let from = floor.at();
    floor.wait_s(100);
    let at = floor.at();
    let reason = PauseReason::Alarm;
    floor.given.does(PauseRun {
        run: run(1),
        at,
        reason,
    });
    floor.wait_s(40);
    let at = floor.at();
    floor.given.does(ResumeRun { run: run(1), at });
    floor.wait_s(60).finish(1);
    floor.wait_s(25);
    let row = since(&floor, from);
    // 100 s and 60 s in cycle around 40 s of alarm; then 25 s in which nothing runs. Of the work nothing is recorded.
    assert_eq!(row.seconds.in_cycle(), 160);
    assert_eq!(row.stopped_s, [("alarm".to_owned(), 40)].into());
    assert_eq!(row.seconds[Category::IdleAttended], 25);
    assert_eq!(row.window_s, 225);
    assert_eq!(row.by_purpose_s.of(Purpose::Production), 160);
    assert!(!row.still_open);
}

#[test]
fn a_pallet_tells_why_the_spindle_stands() {
    let mut floor = Floor::loaded();
    let from = floor.at();
    floor.wait_s(30).move_to(1, spindle(1)).start(1, 1);
    let row = since(&floor, from);
    assert_eq!(row.seconds[Category::ReadyNotStarted], 30);
    let window = Window::new(from, floor.at());
    let opened = explain(&marks(&floor), window, &[window], floor.at(), None);
    assert_eq!(opened.len(), 1);
    assert!(!opened[0].seqs.is_empty(), "it opens to the loading");
}

/// Seven of eight came off good. The routing plans the program for each load or piece; eight pieces are the whole load.
#[test]
fn the_pieces_that_came_off_are_worth_their_share_of_the_load() {
    let mut floor = Floor::running();
    let from = floor.at();
    let planned_s = floor.given.shop.runs.get(&run(1)).unwrap().cycle_s;
    floor.wait_s(600).finish(1).move_to(1, LOAD_STATION);
    assert_eq!(since(&floor, from).earned.unwrap().uncounted_runs, 1);
    let mut counts = good(1, 10, 7);
    counts.scrapped = 1;
    let at = floor.at();
    floor.given.does(unload(1, &[counts], at));
    let earned = since(&floor, from).earned.unwrap();
    assert_eq!(earned.uncounted_runs, 0);
    assert_eq!((earned.produced, earned.good, earned.scrap), (8, 7, 1));
    assert_eq!(u64::try_from(earned.produced_s), Ok(planned_s));
    assert_eq!(u64::try_from(earned.earned_s), Ok((planned_s * 7 * 2 + 8) / 16));
    assert!(earned.earned_s > 0);
}

/// Five good, three for the inspector, who passes two of them the next day and scraps the third.
#[test]
fn pieces_are_worth_something_when_the_inspector_has_passed_them() {
    let mut floor = Floor::running();
    let from = floor.at();
    let planned_s = floor.given.shop.runs.get(&run(1)).unwrap().cycle_s;
    floor.wait_s(600).finish(1).move_to(1, LOAD_STATION);
    let mut counts = good(1, 10, 5);
    counts.to_inspection = 3;
    let at = floor.at();
    floor.given.does(unload(1, &[counts], at));
    let unloaded = since(&floor, from).earned.unwrap();
    assert_eq!((unloaded.produced, unloaded.good, unloaded.scrap), (8, 5, 0));
    let window = Window::new(from, floor.at());
    let passed = Counts {
        good: 2,
        scrapped: 1,
        ..Counts::default()
    };
    floor.wait_s(86_400);
    let at = floor.at();
    floor.given.does(ReportInspected {
        job: job(1),
        operation: 10,
        counts: passed,
        at,
    });
    let row = sweep(&marks(&floor), &[window], &[window], floor.at(), None).remove(0);
    let earned = row.earned.unwrap();
    assert_eq!((earned.produced, earned.good, earned.scrap), (8, 7, 1));
    assert_eq!(u64::try_from(earned.earned_s), Ok((planned_s * 7 * 2 + 8) / 16));
    assert!(floor.given.shop.tallies.is_empty());
}

/// One run's three and the next one's two are with the inspector. What is judged is the first run's, until all of it is.
#[test]
fn the_inspector_judges_the_pieces_of_the_run_that_ended_first() {
    let mut floor = Floor::running();
    let from = floor.at();
    for number in [1, 2] {
        floor.wait_s(600).finish(number).move_to(1, LOAD_STATION);
        let inspected = if number == 1 { 3 } else { 2 };
        let loaded = if number == 1 { 8 } else { 6 };
        let mut counts = good(1, 10, loaded - inspected);
        counts.to_inspection = inspected;
        let at = floor.at();
        floor.given.does(unload(1, &[counts], at));
        if number == 1 {
            floor
                .clamp(1, &[pieces(1, 10, 6)])
                .move_to(1, spindle(1))
                .start(1, 2);
        }
    }
    let second_run = Window::new(from.plus_s(600), floor.at());
    let judge = |floor: &mut Floor, good, scrapped| {
        let at = floor.at();
        let counts = Counts {
            good,
            scrapped,
            ..Counts::default()
        };
        floor.given.does(ReportInspected {
            job: job(1),
            operation: 10,
            counts,
            at,
        });
        let windows = [Window::new(from, from.plus_s(600)), second_run];
        let rows = sweep(&marks(floor), &windows, &windows, floor.at(), None);
        let of_rows = rows.into_iter().map(|row| row.earned.unwrap());
        of_rows
            .map(|earned| (earned.good, earned.scrap))
            .collect::<Vec<_>>()
    };
    assert_eq!(judge(&mut floor, 2, 0), [(7, 0), (4, 0)]);
    assert_eq!(judge(&mut floor, 1, 1), [(8, 0), (4, 1)]);
    assert_eq!(
        floor.given.shop.tallies.len(),
        1,
        "one piece of the second run waits still"
    );
}
