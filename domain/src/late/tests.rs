mod histories;

use super::{Act, Deviation, LateRefusal, ReportAct, SettleAct, SettleChoice};
use crate::command::Command;
use crate::event::Event;
use crate::floor::tests::small_shop::*;
use crate::floor::{FinishRun, MovePallet, PlaceHold};
use crate::hours::sweep;
use crate::ids::{HoldId, ParkedId};
use crate::load::{HoldKind, Stage};
use crate::pallet::Position;
use crate::refusal::Refusal;
use crate::run::RunState;
use crate::shop::Shop;
use crate::shop::given::{machine, pallet};
use crate::stretches::MachineMarks;
use crate::time::{Timestamp, Window};
use uuid::Uuid;

fn parked(number: u32) -> ParkedId {
    ParkedId(Uuid::from_u128(0x9a4c_0000 + u128::from(number)))
}

fn suspect(number: u32) -> HoldId {
    HoldId(Uuid::from_u128(0x5054_0000 + u128::from(number)))
}

/// Told afterwards.
fn report(number: u32, command: impl Into<Command>) -> ReportAct {
    ReportAct {
        act: Act::of(command.into()).unwrap(),
        parked: parked(number),
        hold: suspect(number),
    }
}

fn settle(number: u32, choice: SettleChoice) -> SettleAct {
    SettleAct {
        parked: parked(number),
        choice,
        note: None,
    }
}

fn kinds(outcome: Result<Vec<Event>, Refusal>) -> Vec<&'static str> {
    outcome.unwrap().iter().map(Event::kind).collect()
}

fn rules(shop: &Shop) -> Vec<String> {
    let mut deviations: Vec<&Deviation> = shop.deviations.values().collect();
    deviations.sort_by_key(|deviation| deviation.seq);
    deviations
        .iter()
        .map(|deviation| deviation.rule.clone())
        .collect()
}

fn state_of(floor: &Floor, number: u32) -> RunState {
    floor.given.shop.runs.get(&run(number)).unwrap().state
}

/// The shop without what says only by which entry a thing was last changed.
fn without_versions(shop: &Shop) -> serde_json::Value {
    fn strip(value: &mut serde_json::Value) {
        match value {
            serde_json::Value::Object(members) => {
                members.retain(|name, _| !name.ends_with("seq"));
                members.values_mut().for_each(strip);
            }
            serde_json::Value::Array(items) => items.iter_mut().for_each(strip),
            _ => {}
        }
    }
    let mut value = serde_json::to_value(shop).unwrap();
    strip(&mut value);
    value
}

/// Of machine 1, until now.
fn in_cycle_s(floor: &Floor, from: Timestamp) -> i64 {
    let of_machine = floor.given.stretches.iter();
    let of_machine = of_machine.filter(|(key, _)| key.0 == machine(1).into());
    let marks = MachineMarks::from_rows(of_machine.map(|(_, row)| row.clone()));
    let window = Window::new(from, floor.at());
    sweep(&marks, &[window], &[window], floor.at(), None)[0]
        .seconds
        .in_cycle()
}

/// E13: a tablet was off line, and the end (06:10) of a cut reaches the server before its start (22:05).
#[test]
fn an_end_that_arrives_before_its_start_waits_for_it() {
    let told = |late: bool| {
        let mut floor = Floor::at_spindle();
        let started = floor.at();
        let ended = started.plus_s(8 * 3_600 + 300);
        let (start, finish) = (start(1, 1, started), finish(1, ended));
        floor.wait_s(9 * 3_600);
        if late {
            floor.given.does(report(2, finish));
            assert_eq!(floor.given.shop.parked.len(), 1, "the end waits");
            assert_eq!(
                kinds(floor.given.when(report(1, start.clone()))),
                ["run.started", "act.settled", "run.finished"]
            );
            floor.given.does(report(1, start));
        } else {
            floor.given.does(report(1, start)).does(report(2, finish));
        }
        assert!(floor.given.shop.parked.is_empty());
        assert_eq!(state_of(&floor, 1), RunState::Finished { at: ended });
        floor
    };
    let (in_order, late) = (told(false), told(true));
    assert_eq!(
        without_versions(&late.given.shop),
        without_versions(&in_order.given.shop)
    );
    let from = late.at().plus_s(-9 * 3_600);
    assert_eq!(in_cycle_s(&late, from), 8 * 3_600 + 300);
    assert_eq!(in_cycle_s(&in_order, from), 8 * 3_600 + 300);
}

/// A held load was cut: it is booked, counts once, says so, and the load stays held.
#[test]
fn a_held_load_that_was_cut_is_booked_and_stays_held() {
    let mut floor = Floor::at_spindle();
    let at = floor.at();
    floor.given.does(PlaceHold {
        pallet: pallet(1),
        hold: hold(7),
        kind: HoldKind::Suspect,
        at,
        note: None,
    });
    let live = floor.given.when(start(1, 1, at)).unwrap_err();
    assert_eq!(live.code(), "run.held");
    assert_eq!(
        kinds(floor.given.when(report(1, start(1, 1, at)))),
        ["run.started", "deviation.recorded"],
        "it has a hold already"
    );
    floor.given.does(report(1, start(1, 1, at)));
    assert_eq!(rules(&floor.given.shop), ["run.held"]);
    let load = floor.given.shop.pallets.get(&pallet(1)).unwrap().load.clone();
    let load = load.unwrap();
    assert_eq!(
        (load.hold, load.stage),
        (Some(hold(7)), Stage::InRun { run: run(1) })
    );
}

/// A run that nobody had cleared was started at night: it happened, and somebody has to look at what came out.
#[test]
fn an_uncleared_night_start_is_a_deviation_and_holds_its_load() {
    let mut floor = Floor::loaded();
    floor.move_to(1, spindle(2)).set_calendar();
    // 20:00 UTC of a working day.
    floor.given.now = crate::shop::given::at_s(102 * 86_400 + 14 * 3_600);
    let night = floor.at();
    let live = floor.given.when(start(2, 1, night)).unwrap_err();
    assert_eq!(live.code(), "run.not-cleared-unattended");
    floor.given.does(report(1, start(2, 1, night)));
    assert_eq!(rules(&floor.given.shop), ["run.not-cleared-unattended"]);
    let held = floor.given.shop.holds.get(&suspect(1)).unwrap();
    assert_eq!((held.kind, held.pallet), (HoldKind::Suspect, pallet(1)));
    assert!(floor.given.shop.runs.get(&run(1)).unwrap().unattended);
}

/// What a planner may override says nothing against the pieces.
#[test]
fn a_run_out_of_turn_is_a_deviation_without_a_hold() {
    let mut floor = Floor::at_spindle();
    floor.second_loaded().queue(&[2, 1]);
    let at = floor.at();
    assert_eq!(
        floor.given.when(start(1, 1, at)).unwrap_err().code(),
        "run.not-next"
    );
    floor.given.does(report(1, start(1, 1, at)));
    assert_eq!(rules(&floor.given.shop), ["run.not-next"]);
    assert!(floor.given.shop.holds.is_empty());
}

/// Two runs that lie over each other are both booked; each second is counted once, and somebody has to look.
#[test]
fn a_run_that_began_before_the_last_one_ended_is_a_deviation() {
    let mut floor = Floor::loaded();
    floor.second_loaded().move_to(1, spindle(1)).start(1, 1);
    let began = floor.at();
    floor.wait_s(600).finish(1);
    floor
        .move_to(1, Position::LoadStation { number: 2 })
        .move_to(2, spindle(1));
    floor.wait_s(900);
    let early = began.plus_s(500);
    assert_eq!(
        floor.given.when(start(1, 2, early)).unwrap_err().code(),
        "act.before-last"
    );
    floor
        .given
        .does(report(1, start(1, 2, early)))
        .does(report(2, finish(2, began.plus_s(1_100))));
    assert_eq!(rules(&floor.given.shop), ["run.overlaps"]);
    assert_eq!(floor.given.shop.holds.get(&suspect(1)).unwrap().pallet, pallet(2));
    assert_eq!(in_cycle_s(&floor, began), 1_100);
}

/// Nothing is on the pallet that was told to be unloaded: somebody has to say which side is right.
#[test]
fn what_cannot_be_true_is_parked_until_a_person_decides() {
    let mut floor = Floor::new();
    floor.set_up(1, 1);
    let at = floor.at();
    let told = report(1, unload(1, &[good(1, 10, 8)], at));
    assert_eq!(kinds(floor.given.when(told.clone())), ["act.parked"]);
    floor.given.does(told);
    let known = floor.given.shop.parked.get(&parked(1)).unwrap();
    assert_eq!(known.code, "unload.nothing-loaded");
    assert_eq!(known.act.name(), "unload");

    let book = settle(1, SettleChoice::Book { at: None });
    assert_eq!(
        floor.given.when(book).unwrap_err().code(),
        "unload.nothing-loaded"
    );
    assert_eq!(
        kinds(floor.given.when(settle(1, SettleChoice::Drop))),
        ["act.settled"]
    );
    floor.given.does(settle(1, SettleChoice::Drop));
    assert!(floor.given.shop.parked.is_empty());
    let again = floor.given.when(settle(1, SettleChoice::Drop)).unwrap_err();
    assert_eq!(again, LateRefusal::Unknown { parked: parked(1) }.into());
}

/// The next day the pallet is loaded and cut: that does not make yesterday's unloading true.
#[test]
fn what_could_be_true_by_chance_is_left_for_a_person() {
    let mut floor = Floor::new();
    floor.set_up(1, 1);
    let at = floor.at();
    floor.given.does(report(1, unload(1, &[good(1, 10, 8)], at)));
    floor.wait_s(86_400).clamp(1, &[pieces(1, 10, 8)]);
    floor.move_to(1, spindle(1)).start(1, 1).wait_s(600).finish(1);
    floor.move_to(1, LOAD_STATION);
    assert_eq!(floor.given.shop.parked.len(), 1);
    assert!(floor.given.shop.pallets.get(&pallet(1)).unwrap().load.is_some());
}

/// A tablet whose clock stood at 1970: the act is kept in the order of receipt and in no hours, until somebody says when.
#[test]
fn an_act_without_a_usable_time_waits_for_somebody_who_knows_it() {
    let mut floor = Floor::running();
    floor.wait_s(900);
    let ended = floor.at().plus_s(-300);
    let told = FinishRun {
        at: Timestamp(0),
        ..finish(1, ended)
    };
    floor.given.does(report(1, told));
    assert_eq!(
        floor.given.shop.parked.get(&parked(1)).unwrap().code,
        "time.out-of-range"
    );
    assert_eq!(state_of(&floor, 1), RunState::Running);
    floor
        .given
        .does(settle(1, SettleChoice::Book { at: Some(ended) }));
    assert_eq!(state_of(&floor, 1), RunState::Finished { at: ended });
}

/// The changer took the pallet away while the tablet of the load station was off line: a person confirms the loading.
#[test]
fn somebody_who_has_looked_may_say_that_it_happened_elsewhere() {
    let mut floor = Floor::new();
    floor.set_up(1, 1);
    let at = floor.at();
    floor.wait_s(60).move_to(1, spindle(2));
    let load = crate::floor::LoadPallet {
        pallet: pallet(1),
        load: load(1),
        clamped: vec![pieces(1, 10, 8)],
        at,
        overrides: Vec::new(),
    };
    floor.given.does(report(1, load));
    assert_eq!(
        floor.given.shop.parked.get(&parked(1)).unwrap().code,
        "act.not-at-load-station"
    );
    floor.given.does(settle(1, SettleChoice::Book { at: None }));
    let pallet = floor.given.shop.pallets.get(&pallet(1)).unwrap();
    assert_eq!(pallet.load.as_ref().unwrap().pieces(), 8);
    assert_eq!(rules(&floor.given.shop), ["act.not-at-load-station"]);
    assert!(floor.given.shop.holds.is_empty());
}

/// A move leaves behind where the pallet is now: one of before the last one is never that.
#[test]
fn an_old_move_is_not_where_a_pallet_is_now() {
    let mut floor = Floor::loaded();
    let at = floor.at();
    floor.wait_s(60).move_to(1, Position::LoadStation { number: 2 });
    let old = MovePallet {
        pallet: pallet(1),
        to: spindle(2),
        exchange: false,
        at,
    };
    floor.given.does(report(1, old));
    let book = settle(1, SettleChoice::Book { at: None });
    assert_eq!(floor.given.when(book).unwrap_err().code(), "act.before-last");
    assert_eq!(
        floor.given.shop.pallets.get(&pallet(1)).unwrap().position,
        Position::LoadStation { number: 2 }
    );
}

#[test]
fn what_is_wrong_in_itself_is_refused_and_not_parked() {
    let floor = Floor::loaded();
    let at = floor.at();
    let twice = unload(1, &[good(1, 10, 8), good(1, 10, 8)], at);
    let refusal = floor.given.when(report(1, twice)).unwrap_err();
    assert_eq!(refusal.code(), "unload.repeated");
    let nowhere = unload(99, &[good(1, 10, 8)], at);
    let refusal = floor.given.when(report(1, nowhere)).unwrap_err();
    assert_eq!(refusal.code(), "pallet.unknown");
}
