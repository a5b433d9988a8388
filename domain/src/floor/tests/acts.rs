use super::small_shop::*;
use crate::event::Event;
use crate::floor::*;
use crate::job::AtOperation;
use crate::load::{Clamped, Stage};
use crate::note::NoteRef;
use crate::pallet::Position;
use crate::run::{PauseReason, Purpose, RunState};
use crate::shop::given::{code, machine, refused};
use crate::time::US_PER_SECOND;

fn reason() -> NoteRef {
    NoteRef::new(
        crate::ids::TextId(uuid::Uuid::from_u128(7)),
        &[1; 16],
        "Customer waits",
    )
}

fn at_operation(floor: &Floor, number: u16) -> AtOperation {
    let job = floor.given.shop.jobs.get(&job(1)).unwrap();
    job.operations
        .iter()
        .find(|at| at.number == number)
        .unwrap()
        .clone()
}

/// E39: 8 nests, 5 loaded: 5 pieces come off, not 8. E40: 4 good and 1 scrapped of 20 leave 16 to be made good.
#[test]
fn five_of_eight_nests_are_five_pieces() {
    let mut floor = Floor::new();
    floor
        .set_up(1, 1)
        .clamp(1, &[pieces(1, 10, 5)])
        .move_to(1, spindle(1))
        .start(1, 1);
    floor.wait_s(600).finish(1).move_to(1, LOAD_STATION);
    let at = floor.at();
    let eight = floor.given.when(unload(1, &[good(1, 10, 8)], at)).unwrap_err();
    assert_eq!(eight.code(), "unload.counts-open");
    assert!(eight.to_string().contains("5 pieces"), "{eight}");
    let counted = Count {
        good: 4,
        scrapped: 1,
        ..good(1, 10, 0)
    };
    floor.given.does(unload(1, &[counted], at));
    let (first, second) = (at_operation(&floor, 10), at_operation(&floor, 20));
    assert_eq!(
        (first.good, first.scrapped, first.waiting(), first.clamped),
        (4, 1, 15, 0)
    );
    assert_eq!(second.waiting(), 4, "the good ones wait for the next operation");
    let job = floor.given.shop.jobs.get(&job(1)).unwrap();
    assert_eq!(job.material_shortfall(), 1, "a blank is lacking");
}

/// E60: two jobs need F7, and the one copy is on a pallet with job A's pieces.
#[test]
fn a_copy_of_a_fixture_exists_once() {
    let mut floor = Floor::new();
    floor.set_up(1, 2).move_to(2, Position::LoadStation { number: 2 });
    let mount = MountFixture {
        pallet: pallet(2),
        setup: setup(1),
        fixture: fixture(2),
        copy: None,
        at: floor.at(),
    };
    let refusal = floor.given.when(mount).unwrap_err();
    assert_eq!(
        refusal.to_string(),
        "no copy of fixture F8 is free (1 in all): COPY-3 is on pallet P1 at load station 1"
    );
}

#[test]
fn more_may_be_clamped_on_a_load_that_has_not_been_cut() {
    let mut floor = Floor::new();
    floor.release(2, 20, vec![operation(10, machining(&[1]))]);
    floor
        .set_up(1, 1)
        .clamp(1, &[pieces(1, 10, 3)])
        .clamp(1, &[pieces(2, 10, 2), pieces(1, 10, 1)]);
    let load = floor
        .given
        .shop
        .pallets
        .get(&pallet(1))
        .unwrap()
        .load
        .clone()
        .unwrap();
    assert_eq!(load.clamped, [pieces(1, 10, 4), pieces(2, 10, 2)]);
    let loaded: Vec<_> = load.clamped.iter().map(|one| one.pieces).collect();
    assert_eq!(loaded.iter().sum::<u32>(), load.pieces());
    // Two programs, one after the other: 600 s each.
    floor.move_to(1, spindle(1)).start(1, 1);
    assert_eq!(floor.given.shop.runs.get(&run(1)).unwrap().cycle_s, 1_200);
}

#[test]
fn two_pallets_change_places_in_one_movement() {
    let mut floor = Floor::loaded();
    floor.move_to(2, spindle(1));
    let exchange = MovePallet {
        pallet: pallet(1),
        to: spindle(1),
        exchange: true,
        at: floor.at(),
    };
    let events = floor.given.when(exchange.clone()).unwrap();
    assert_eq!(events.len(), 2, "both moved");
    floor.given.does(exchange);
    let position = |number| floor.given.shop.pallets.get(&pallet(number)).unwrap().position;
    assert_eq!((position(1), position(2)), (spindle(1), LOAD_STATION));
}

/// E19: 20:00 start, alarm at 20:10, resumed at 06:00, end at 06:35: 45 min in cycle, 9 h 50 min stopped.
#[test]
fn a_stop_is_no_cycle_time() {
    let mut floor = Floor::running();
    let pause = PauseRun {
        run: run(1),
        at: floor.wait_s(600).at(),
        reason: PauseReason::Alarm,
    };
    floor.given.does(pause);
    assert_eq!(
        refused(floor.given.when(finish(1, floor.at()))),
        "run.not-running"
    );
    let resume = ResumeRun {
        run: run(1),
        at: floor.wait_s(9 * 3_600 + 50 * 60).at(),
    };
    floor.given.does(resume);
    floor.wait_s(35 * 60).finish(1);
    let run = floor.given.shop.runs.get(&run(1)).unwrap();
    assert_eq!(run.stopped_us, (9 * 3_600 + 50 * 60) * US_PER_SECOND);
    assert_eq!(run.in_cycle_us(floor.at()), 45 * 60 * US_PER_SECOND);
    assert!(matches!(run.state, RunState::Finished { .. }));
}

#[test]
fn an_act_may_be_told_later_but_not_out_of_order() {
    let mut floor = Floor::running();
    let started = floor.at();
    floor.wait_s(7_200);
    floor.given.does(finish(1, started.plus_s(600)));
    let spindle_left = MovePallet {
        pallet: pallet(1),
        to: LOAD_STATION,
        exchange: false,
        at: started.plus_s(599),
    };
    assert_eq!(refused(floor.given.when(spindle_left.clone())), "act.before-last");
    floor.given.does(MovePallet {
        at: started.plus_s(600),
        ..spindle_left
    });
}

#[test]
fn a_planner_overrides_what_is_not_about_quality() {
    let mut floor = Floor::at_spindle();
    floor.set_tools(1, &[79, 100]).move_to(2, LOAD_STATION);
    floor.set_up(2, 1).clamp(2, &[pieces(1, 10, 4)]).queue(&[2, 1]);
    let given = |rule| Override {
        rule,
        reason: reason(),
    };
    let against_queue = StartRun {
        overrides: vec![
            given(OverridableRule::NotNext),
            given(OverridableRule::ToolLifeShort),
        ],
        ..start(1, 1, floor.at())
    };
    let events = floor.given.when(against_queue).unwrap();
    let [Event::RunStarted(started)] = events.as_slice() else {
        panic!("{events:?}");
    };
    // The second twin has 100 s and 80 are needed: nothing to override there, so nothing is kept of it.
    assert_eq!(started.overrides, [given(OverridableRule::NotNext)]);
}

#[test]
fn a_load_is_cut_with_one_twin_from_beginning_to_end() {
    let mut floor = Floor::at_spindle();
    floor.set_tools(1, &[70, 100]).start(1, 1).wait_s(600).finish(1);
    let tools = &floor.given.shop.machines.get(&machine(1)).unwrap().tools;
    let left: Vec<_> = tools.iter().map(|tool| tool.life_left_s).collect();
    assert_eq!(left, [70, 20]);
    assert!(tools.iter().all(|tool| tool.tool == code("T12")));
}

#[test]
fn breaks_are_attended_and_nights_are_not() {
    let mut floor = Floor::new();
    floor.set_calendar().at_shift();
    // 09:15 UTC is 10:15 in Berlin: in the break.
    floor.wait_s(2 * 3_600 + 15 * 60);
    let shop = &floor.given.shop;
    let cell = crate::shop::given::cell(1);
    assert!(work::is_attended(shop, cell, floor.at()));
    assert!(!work::is_attended(shop, cell, floor.at().plus_s(10 * 3_600)));
}

#[test]
fn a_run_takes_its_pallet_out_of_the_queue() {
    let mut floor = Floor::at_spindle();
    floor.queue(&[1, 2]).start(1, 1);
    let cell = floor.given.shop.cells.get(&crate::shop::given::cell(1)).unwrap();
    assert_eq!(cell.queue, [pallet(2)]);
    assert_eq!(cell.queue_changed_seq, floor.given.seq());
}

/// E43: 5 cut, 4 good at first, 1 reworked and then good: the job has 5 good, not 6, and the rework run is a purpose
/// of its own.
#[test]
fn a_reworked_piece_is_counted_good_once() {
    let mut floor = Floor::new();
    floor
        .set_up(1, 1)
        .clamp(1, &[pieces(1, 10, 5)])
        .move_to(1, spindle(1))
        .start(1, 1);
    floor.wait_s(600).finish(1).move_to(1, LOAD_STATION);
    let at = floor.at();
    let counted = Count {
        good: 4,
        to_rework: 1,
        ..good(1, 10, 0)
    };
    floor.given.does(unload(1, &[counted], at));
    let again = Clamped {
        rework: true,
        ..pieces(1, 10, 1)
    };
    floor.clamp(1, &[again]).move_to(1, spindle(1)).start(1, 2);
    assert_eq!(
        floor.given.shop.runs.get(&run(2)).unwrap().purpose,
        Purpose::Rework
    );
    floor.wait_s(720).finish(2).move_to(1, LOAD_STATION);
    let counted = Count {
        rework: true,
        ..good(1, 10, 1)
    };
    let at = floor.at();
    floor.given.does(unload(1, &[counted], at));
    let first = at_operation(&floor, 10);
    assert_eq!((first.good, first.rework, first.scrapped), (5, 0, 0));
}

#[test]
fn what_comes_off_uncut_waits_again() {
    let mut floor = Floor::loaded();
    let uncut = Count {
        uncut: 8,
        ..good(1, 10, 0)
    };
    let at = floor.at();
    floor.given.does(unload(1, &[uncut], at));
    assert_eq!(at_operation(&floor, 10).waiting(), 20);
    assert_eq!(floor.given.shop.pallets.get(&pallet(1)).unwrap().load, None);
}

#[test]
fn an_aborted_load_can_be_started_again() {
    let mut floor = Floor::running();
    let at = floor.at();
    floor.given.does(AbortRun {
        run: run(1),
        at,
        reason: crate::run::AbortReason::Tool,
        note: None,
    });
    floor.start(1, 2);
    let load = floor
        .given
        .shop
        .pallets
        .get(&pallet(1))
        .unwrap()
        .load
        .clone()
        .unwrap();
    assert_eq!(load.stage, Stage::InRun { run: run(2) });
}

/// At night by the calendar, but somebody is badged in on a tablet: the run starts, and is not called unattended.
#[test]
fn somebody_who_is_badged_in_makes_a_live_start_attended() {
    let mut floor = Floor::at_spindle();
    floor.move_to(1, spindle(2)).set_calendar();
    floor.given.now = crate::shop::given::at_s(102 * 86_400 + 14 * 3_600);
    let at = floor.at();
    assert_eq!(
        refused(floor.given.when(start(2, 1, at))),
        "run.not-cleared-unattended"
    );
    floor.given.happened(crate::device::BadgeBegun {
        badge: crate::ids::BadgeId(uuid::Uuid::from_u128(1)),
        device: crate::shop::given::principal(1),
        person: crate::shop::given::principal(2),
        since: at,
        until: at.plus_s(900),
        claimed: false,
    });
    floor.given.does(start(2, 1, at));
    assert!(!floor.given.shop.runs.get(&run(1)).unwrap().unattended);
}
