//! What acts on the floor say about the time of machines and pallets.

use super::small_shop::*;
use crate::floor::{FinishSetup, MountFixture};
use crate::hours::{Category, OperationTime, RowSeconds, explain, machines_of, of_job, run_times, sweep};
use crate::ids::Track;
use crate::job::{Counts, ReportInspected};
use crate::run::Purpose;
use crate::shop::given::{cell, machine};
use crate::stretches::{JobMarks, MachineMarks};
use crate::time::{Timestamp, US_PER_SECOND, Window};
use std::collections::BTreeMap;

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
    floor.pause(1).wait_s(40).resume(1).wait_s(60).finish(1);
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

fn for_job(floor: &Floor, number: u8) -> BTreeMap<u16, OperationTime> {
    let rows = floor.given.stretches.iter();
    let rows = rows.filter(|((track, _, _), _)| *track == Track::from(job(number)));
    let job = JobMarks::from_rows(rows.map(|(_, marks)| marks.clone()));
    let windows = machines_of(&job);
    let times = windows.into_iter().flat_map(|(of, window)| {
        assert_eq!(of, machine(1));
        run_times(&marks(floor), window, floor.at(), None)
    });
    of_job(&job, &times.collect())
}

/// Operation 10 of job 1 (600 s for a load of up to 8) and of job 2 (the same) lie on one pallet, 4 pieces each: by the
/// plan each is half of what the programs take. Set up in 15 minutes for both; the run takes 1,000 s around 60 s of alarm.
#[test]
fn a_mixed_load_is_shared_out_by_the_time_of_each_program() {
    let mut floor = Floor::new();
    floor.release(2, 20, vec![operation(10, machining(&[1]))]);
    let at = floor.at();
    floor.given.does(MountFixture {
        pallet: pallet(1),
        setup: setup(77),
        fixture: fixture(1),
        copy: None,
        at,
    });
    floor.wait_s(900);
    let at = floor.at();
    floor.given.does(FinishSetup {
        pallet: pallet(1),
        at,
    });
    floor.wait_s(60).clamp(1, &[pieces(1, 10, 4)]);
    let alone = &for_job(&floor, 1)[&10];
    assert_eq!((alone.setups, alone.setup_us), (1, 900 * US_PER_SECOND));
    floor
        .clamp(1, &[pieces(2, 10, 4)])
        .move_to(1, spindle(1))
        .start(1, 1);
    floor.wait_s(700);
    floor.pause(1).wait_s(60).resume(1).wait_s(300);
    let before = &for_job(&floor, 1)[&10];
    assert_eq!((before.runs, before.open_runs), (1, 1));
    floor.finish(1).wait_s(30);
    for number in [1, 2] {
        let done = &for_job(&floor, number)[&10];
        assert_eq!((done.setups, done.setup_us), (1, 450 * US_PER_SECOND));
        assert_eq!((done.runs, done.mixed_runs, done.open_runs), (1, 1, 0));
        let of = |purpose: Purpose| done.in_cycle_us[purpose as usize] / US_PER_SECOND;
        assert_eq!((of(Purpose::Production), of(Purpose::ProveOut)), (500, 0));
        assert_eq!(done.by_people_us, 500 * US_PER_SECOND);
        assert_eq!((done.stopped_us, done.planned_s), (30 * US_PER_SECOND, 600));
        assert_eq!(done.seqs.len(), 2, "the last loading, and the start");
    }
    // The next load in the same setup is not what it was set up for.
    floor.move_to(1, LOAD_STATION);
    let at = floor.at();
    floor.given.does(unload(1, &[good(1, 10, 4), good(2, 10, 4)], at));
    floor
        .clamp(1, &[pieces(1, 10, 8)])
        .move_to(1, spindle(1))
        .start(1, 2);
    floor.wait_s(600).finish(2);
    let done = &for_job(&floor, 1)[&10];
    assert_eq!((done.setups, done.runs, done.mixed_runs), (1, 2, 1));
    assert_eq!(
        done.in_cycle_us[Purpose::Production as usize],
        1_100 * US_PER_SECOND
    );
    assert_eq!(done.planned_s, 1_200);
}
