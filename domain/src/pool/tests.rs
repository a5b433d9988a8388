use super::{PalletState, WaitCode, cuts_until, pool};
use crate::cell::{AddCell, CellKind};
use crate::floor::tests::small_shop::*;
use crate::floor::{PauseRun, PlaceHold};
use crate::load::HoldKind;
use crate::pallet::Position;
use crate::run::PauseReason;
use crate::shop::given::{at_s, cell, code, machine, name};
use crate::time::Timestamp;

const SECOND_STATION: Position = Position::LoadStation { number: 2 };

fn state_and_wait(floor: &Floor, number: u8) -> (PalletState, WaitCode, String) {
    let shop = &floor.given.shop;
    let pool = pool(shop, shop.cells.get(&cell(1)).unwrap(), floor.at());
    let line = pool
        .pallets
        .into_iter()
        .find(|line| line.pallet == pallet(number))
        .unwrap();
    (line.state, line.waits_for.code, line.waits_for.text)
}

fn wait_of_job(floor: &Floor, number: u8) -> (WaitCode, String) {
    let shop = &floor.given.shop;
    let pool = pool(shop, shop.cells.get(&cell(1)).unwrap(), floor.at());
    let line = pool
        .jobs
        .into_iter()
        .find(|line| line.job == job(number))
        .unwrap();
    (line.waits_for.code, line.waits_for.text)
}

fn check(floor: &Floor, number: u8, state: PalletState, code: WaitCode, part: &str) {
    let (found, wait, text) = state_and_wait(floor, number);
    assert_eq!((found, wait), (state, code), "{text}");
    assert!(text.contains(part), "{text}");
}

/// A load from the empty pallet to the next one: at each step one state and one thing that it waits for.
#[test]
fn a_pallet_waits_for_one_thing_at_each_step() {
    let mut floor = Floor::new();
    check(
        &floor,
        1,
        PalletState::Empty,
        WaitCode::Mount,
        "fixture F7 to be mounted, for job SO-1/1",
    );
    check(
        &floor,
        2,
        PalletState::Empty,
        WaitCode::LoadStation,
        "moved to a load station",
    );
    floor.set_up(1, 1);
    check(
        &floor,
        1,
        PalletState::Empty,
        WaitCode::Load,
        "20 of job SO-1/1, operation 10",
    );
    floor.clamp(1, &[pieces(1, 10, 8)]);
    check(&floor, 1, PalletState::Ready, WaitCode::Move, "machine M");
    floor.move_to(1, spindle(1));
    check(&floor, 1, PalletState::Ready, WaitCode::Start, "machine M1");
    floor.start(1, 1);
    check(&floor, 1, PalletState::InRun, WaitCode::RunEnd, "planned for");
    let at = floor.wait_s(60).at();
    floor.given.does(PauseRun {
        run: run(1),
        at,
        reason: PauseReason::Alarm,
    });
    check(&floor, 1, PalletState::InRun, WaitCode::Resume, "(alarm)");
    floor.given.does(crate::floor::ResumeRun { run: run(1), at });
    floor.wait_s(540).finish(1);
    check(
        &floor,
        1,
        PalletState::Cut,
        WaitCode::LoadStation,
        "moved to a load station",
    );
    floor.move_to(1, LOAD_STATION);
    check(&floor, 1, PalletState::Cut, WaitCode::Unload, "counted");
}

/// E60: one F7, on a pallet with job A's pieces: B waits for F7, and says where it is.
#[test]
fn a_job_says_which_fixture_it_waits_for() {
    let mut floor = Floor::new();
    floor.release(2, 8, vec![operation(10, machining(&[2]))]);
    floor.release(3, 8, vec![operation(10, machining(&[2]))]);
    floor.set_up(1, 2).clamp(1, &[pieces(2, 10, 8)]);
    let (code, text) = wait_of_job(&floor, 3);
    assert_eq!(code, WaitCode::Fixture);
    assert_eq!(text, "fixture F8 (COPY-3 is on pallet P1 at load station 1)");
}

#[test]
fn a_job_without_material_is_not_offered() {
    let mut floor = Floor::new();
    floor.release(2, 8, vec![operation(10, machining(&[1]))]);
    floor.waits_for_material(2, 8);
    let waits = wait_of_job(&floor, 2);
    assert_eq!(
        waits,
        (WaitCode::Material, "its material (2026-11-20)".to_owned())
    );
    assert_eq!(wait_of_job(&floor, 1).0, WaitCode::Mount);
}

/// E45: 20 wanted, 14 made, then 12 wanted: the 6 that wait are not offered.
#[test]
fn pieces_that_nobody_wants_any_more_are_not_offered() {
    let mut floor = Floor::new();
    floor.release(2, 20, vec![operation(10, machining(&[1]))]);
    let is_offered = |floor: &Floor| {
        let shop = &floor.given.shop;
        let pool = super::pool(shop, shop.cells.get(&cell(1)).unwrap(), floor.at());
        pool.jobs.iter().any(|line| line.job == job(2))
    };
    floor.given.shop.jobs.update(&job(2), |job| {
        job.told(
            10,
            crate::job::Counts {
                good: 14,
                ..crate::job::Counts::default()
            },
        );
    });
    assert!(is_offered(&floor));
    floor.given.shop.jobs.update(&job(2), |job| job.quantity = 12);
    assert!(!is_offered(&floor));
}

#[test]
fn a_held_load_waits_for_a_decision() {
    let mut floor = Floor::loaded();
    let at = floor.at();
    floor.given.does(PlaceHold {
        kind: HoldKind::Suspect,
        pallet: pallet(1),
        hold: hold(1),
        at,
        note: None,
    });
    check(&floor, 1, PalletState::Held, WaitCode::Inspection, "suspect");
}

#[test]
fn an_uncleared_load_is_ready_for_attended_hours_only() {
    let mut floor = Floor::new();
    let mut uncleared = machining(&[1]);
    uncleared.places[0].clearances.clear();
    floor.release(2, 8, vec![operation(10, uncleared)]);
    floor.set_calendar().given.now = at_s(102 * 86_400 + 14 * 3_600);
    floor.set_up(1, 1).clamp(1, &[pieces(2, 10, 8)]);
    check(
        &floor,
        1,
        PalletState::ReadyAttendedOnly,
        WaitCode::Attendance,
        "not cleared",
    );
}

/// E50: the second pallet of the same operation waits for the first piece.
#[test]
fn a_pallet_says_which_first_piece_it_waits_for() {
    let mut floor = Floor::new();
    let mut checked = machining(&[1]);
    checked.first_piece = true;
    floor.release(2, 40, vec![operation(10, checked)]);
    floor.move_to(2, SECOND_STATION).set_up(1, 1).set_up(2, 1);
    floor.clamp(1, &[pieces(2, 10, 8)]).clamp(2, &[pieces(2, 10, 8)]);
    floor.move_to(1, spindle(1)).start(1, 1).wait_s(600).finish(1);
    check(
        &floor,
        2,
        PalletState::Ready,
        WaitCode::FirstPiece,
        "first_piece of job SO-1/2, operation 10",
    );
}

/// A pool of one machine with five pallets, each with a cycle of 150 min that takes 80 min of T12; 3 min of exchange.
fn night(lives: &[u32]) -> (Floor, Timestamp) {
    let mut floor = Floor::new();
    floor.given.does(AddCell {
        cell: cell(3),
        code: code("NIGHT"),
        name: name("Pool"),
        kind: CellKind::Pool {
            load_stations: 5,
            stands: 5,
            exchange_s: 180,
        },
    });
    floor.given.does(crate::machine::AddMachine {
        machine: machine(7),
        placement: crate::machine::Placement::In(cell(3)),
        code: code("M7"),
        name: name("Mill"),
        silent_after_s: None,
    });
    floor.add_fixture(5, fixture_facts("F5", 8), &[51, 52, 53, 54, 55]);
    let mut long = machining(&[5]);
    long.places[0].cell = cell(3);
    long.places[0].cycle = crate::part::CycleTime::PerLoad { cycle_s: 150 * 60 };
    long.places[0].tools[0].used_s_per_load = 80 * 60;
    long.places[0].clearances[0].machine = machine(7);
    floor.release(5, 40, vec![operation(10, long)]);
    for number in 51..=55_u8 {
        floor.given.does(crate::pallet::AddPallet {
            pallet: pallet(number),
            cell: cell(3),
            facts: pallet_facts(&format!("N{number}")),
            position: Some(Position::LoadStation {
                number: u32::from(number) - 50,
            }),
        });
        floor.set_up(number, 5).clamp(number, &[pieces(5, 10, 8)]);
    }
    let seconds: Vec<u32> = lives.iter().map(|minutes| minutes * 60).collect();
    floor.set_tools(7, &seconds);
    floor.given.does(crate::floor::SetQueue {
        cell: cell(3),
        pallets: (51..=55_u8).map(pallet).collect(),
        expected: None,
    });
    let now = floor.at();
    (floor, now)
}

/// E58: T12 has 300 min left: three loads, short by 20 min for the fourth; with a twin all five, 12 h 45 min later.
#[test]
fn tools_end_the_night() {
    let (floor, now) = night(&[300]);
    let shop = &floor.given.shop;
    let cuts = cuts_until(shop, shop.cells.get(&cell(3)).unwrap(), now);
    assert_eq!(cuts.machines[0].loads.len(), 3);
    assert_eq!(cuts.until, Some(now.plus_s(3 * 153 * 60)));
    assert_eq!(cuts.machines[0].ends_because.code, WaitCode::ToolLife);
    let not_counted: Vec<_> = cuts
        .not_counted
        .iter()
        .map(|one| (one.pallet, one.because.text.as_str()))
        .collect();
    // 20 min are 1,200 s.
    let short = "tool T12, short by 1200 s";
    assert_eq!(not_counted, [(pallet(54), short), (pallet(55), short)]);

    let (floor, now) = night(&[300, 300]);
    let shop = &floor.given.shop;
    let cuts = cuts_until(shop, shop.cells.get(&cell(3)).unwrap(), now);
    assert_eq!(cuts.machines[0].loads.len(), 5);
    assert_eq!(cuts.until, Some(now.plus_s((12 * 60 + 45) * 60)));
    assert_eq!(cuts.machines[0].ends_because.code, WaitCode::Queue);
}

/// The run that is open counts to its planned end; a first piece lets nothing of its operation follow unseen.
#[test]
fn a_first_piece_ends_it_and_a_stopped_run_does_not_count() {
    let mut floor = Floor::new();
    let mut checked = machining(&[1]);
    checked.first_piece = true;
    floor.release(2, 40, vec![operation(10, checked)]);
    floor.move_to(2, SECOND_STATION).set_up(1, 1).set_up(2, 1);
    floor.clamp(1, &[pieces(2, 10, 8)]).clamp(2, &[pieces(2, 10, 8)]);
    floor.move_to(1, spindle(1)).start(1, 1).queue(&[2]);
    let started = floor.at();
    floor.wait_s(200);
    let cuts = |floor: &Floor| {
        let shop = &floor.given.shop;
        cuts_until(shop, shop.cells.get(&cell(1)).unwrap(), floor.at())
    };
    let before = cuts(&floor);
    assert_eq!(before.until, Some(started.plus_s(600)));
    assert_eq!(before.not_counted[0].because.code, WaitCode::FirstPiece);
    let at = floor.at();
    floor.given.does(PauseRun {
        run: run(1),
        at,
        reason: PauseReason::Tool,
    });
    let stopped = cuts(&floor);
    assert_eq!(stopped.until, None);
    assert_eq!(stopped.machines[0].ends_because.code, WaitCode::Resume);
}

/// One load station, two stands, one machine, three pallets: the cut one wants the load station, the ready ones want the
/// spindle, and one stand is free.
fn tight_cell(last_is_clamped: bool) -> Floor {
    let mut floor = Floor::new();
    floor.given.does(AddCell {
        cell: cell(4),
        code: code("TIGHT"),
        name: name("Pool"),
        kind: CellKind::Pool {
            load_stations: 1,
            stands: 2,
            exchange_s: 60,
        },
    });
    floor.given.does(crate::machine::AddMachine {
        machine: machine(8),
        placement: crate::machine::Placement::In(cell(4)),
        code: code("M8"),
        name: name("Mill"),
        silent_after_s: None,
    });
    floor.add_fixture(6, fixture_facts("F6", 8), &[61, 62, 63]);
    let mut tight = machining(&[6]);
    tight.places[0].cell = cell(4);
    tight.places[0].tools.clear();
    floor.release(6, 40, vec![operation(10, tight)]);
    let stands = [
        Position::Stand { number: 1 },
        Position::Stand { number: 2 },
        LOAD_STATION,
    ];
    for (number, to) in (61..=63_u8).zip(stands) {
        floor.given.does(crate::pallet::AddPallet {
            pallet: pallet(number),
            cell: cell(4),
            facts: pallet_facts(&format!("T{number}")),
            position: Some(LOAD_STATION),
        });
        floor.set_up(number, 6);
        if number < 63 || last_is_clamped {
            floor.clamp(number, &[pieces(6, 10, 8)]);
        }
        if number == 61 {
            floor.move_to(61, spindle(8)).start(8, 61).wait_s(600).finish(61);
        } else if to != LOAD_STATION {
            floor.move_to(number, to);
        }
    }
    floor
}

fn fill_last_place(floor: &mut Floor) {
    floor.given.does(crate::pallet::AddPallet {
        pallet: pallet(64),
        cell: cell(4),
        facts: pallet_facts("T64"),
        position: Some(Position::Stand { number: 1 }),
    });
}

#[test]
fn gridlock_names_the_ring() {
    let mut floor = tight_cell(true);
    let ring = |floor: &Floor| {
        let shop = &floor.given.shop;
        super::ring(shop, shop.cells.get(&cell(4)).unwrap(), floor.at())
    };
    assert!(ring(&floor).is_empty(), "stand 1 is free");
    fill_last_place(&mut floor);
    let links = ring(&floor);
    let pallets: Vec<_> = links.iter().map(|link| link.pallet).collect();
    assert_eq!(links.len(), 2, "{links:?}");
    assert!(
        pallets.contains(&pallet(61)),
        "the cut one at the spindle is in it: {links:?}"
    );
    for (link, next) in links.iter().zip(links.iter().cycle().skip(1)) {
        assert_eq!(link.held_by, next.pallet);
    }
}

/// Every place is taken, and the pallet at the load station is still empty: clamping it would leave nothing that moves.
#[test]
fn gridlock_is_found_before_it_happens() {
    let mut floor = tight_cell(false);
    fill_last_place(&mut floor);
    let shop = &floor.given.shop;
    let tight = shop.cells.get(&cell(4)).unwrap();
    assert!(super::ring(shop, tight, floor.at()).is_empty());
    let ahead = super::locks_ahead(shop, tight, floor.at());
    let acts: Vec<_> = ahead.iter().map(|lock| (lock.pallet, lock.act)).collect();
    let clamping = super::LockingAct::Load {
        job: job(6),
        operation: 10,
        pieces: 8,
    };
    assert_eq!(acts, [(pallet(63), clamping)]);
    floor.clamp(63, &[pieces(6, 10, 8)]);
    let shop = &floor.given.shop;
    let tight = shop.cells.get(&cell(4)).unwrap();
    assert_eq!(
        super::ring(shop, tight, floor.at()),
        ahead[0].ring,
        "and it happens as foretold"
    );
    assert!(
        super::locks_ahead(shop, tight, floor.at()).is_empty(),
        "now the ring itself is told"
    );
    let ring: Vec<_> = ahead[0].ring.iter().map(|link| link.pallet).collect();
    assert!(ring.contains(&ahead[0].way_out));
}
