use super::{Change, Correct};
use crate::actor::Actor;
use crate::command::Context;
use crate::event::Event;
use crate::floor::Count;
use crate::floor::tests::small_shop::*;
use crate::hours::sweep;
use crate::ids::{PrincipalId, Seq};
use crate::load::Stage;
use crate::refusal::Refusal;
use crate::run::RunState;
use crate::shop::Shop;
use crate::shop::given::{machine, pallet};
use crate::stretches::MachineMarks;
use crate::time::{Timestamp, Window};
use uuid::Uuid;

/// A floor that keeps its entries, so that they can be named.
struct Told {
    floor: Floor,
    began: Timestamp,
}

impl Told {
    fn new(floor: Floor) -> Self {
        let began = floor.at();
        Self { floor, began }
    }

    fn shop(&self) -> &Shop {
        &self.floor.given.shop
    }

    fn correct(&self, corrects: Seq, event: impl Into<Event>, change: Change) -> Correct {
        Correct {
            corrects,
            event: event.into(),
            told_by: Actor::System,
            recorded_at: self.floor.at(),
            change,
            note: None,
        }
    }

    /// Does a command and gives its first entry.
    fn does(&mut self, command: impl Into<crate::command::Command>) -> (Seq, Event) {
        let seq = self.floor.given.seq() + 1;
        let events = self.floor.given.when(command).unwrap();
        for event in events.clone() {
            self.floor.given.happened(event);
        }
        (seq, events[0].clone())
    }

    fn in_cycle_s(&self) -> i64 {
        let of_machine = self.floor.given.stretches.iter();
        let of_machine = of_machine.filter(|(key, _)| key.0 == machine(1).into());
        let marks = MachineMarks::from_rows(of_machine.map(|(_, row)| row.clone()));
        let window = Window::new(self.began.plus_s(-86_400), self.floor.at());
        sweep(&marks, &[window], &[window], self.floor.at(), None)[0]
            .seconds
            .in_cycle()
    }

    fn good_and_scrapped(&self) -> (i64, i64) {
        let of_machine = self.floor.given.stretches.iter();
        let of_machine = of_machine.filter(|(key, _)| key.0 == machine(1).into());
        let marks = MachineMarks::from_rows(of_machine.map(|(_, row)| row.clone()));
        let window = Window::new(self.began.plus_s(-86_400), self.floor.at());
        let row = &sweep(&marks, &[window], &[window], self.floor.at(), None)[0];
        let earned = row.earned.unwrap();
        (earned.good, earned.scrap)
    }
}

fn code(outcome: Result<Vec<Event>, Refusal>) -> &'static str {
    outcome.unwrap_err().code()
}

fn position(shop: &Shop, number: u8) -> crate::pallet::Position {
    shop.pallets.get(&pallet(number)).unwrap().position
}

#[test]
fn a_move_that_was_not_made_is_taken_back_and_both_entries_stay() {
    let mut told = Told::new(Floor::loaded());
    let at = told.floor.at();
    let (seq, moved) = told.does(crate::floor::MovePallet {
        pallet: pallet(1),
        to: spindle(1),
        exchange: false,
        at,
    });
    let correct = told.correct(seq, moved, Change::Withdraw);
    told.does(correct.clone());
    assert_eq!(position(told.shop(), 1), LOAD_STATION);
    assert_eq!(
        code(told.floor.given.when(correct)),
        "correction.corrected-already"
    );
}

#[test]
fn a_run_that_never_started_gives_no_hours() {
    let mut told = Told::new(Floor::at_spindle());
    let at = told.floor.at();
    let (seq, started) = told.does(start(1, 1, at));
    told.floor.wait_s(600);
    assert_eq!(told.in_cycle_s(), 600);
    let correct = told.correct(seq, started, Change::Withdraw);
    told.does(correct);
    assert_eq!(told.in_cycle_s(), 0);
    assert!(told.shop().runs.is_empty());
    let load = told.shop().pallets.get(&pallet(1)).unwrap().load.clone().unwrap();
    assert_eq!(load.stage, Stage::Ready);
    assert_eq!(told.shop().machines.get(&machine(1)).unwrap().run, None);
    // The load can be cut.
    told.floor.start(1, 2).wait_s(600).finish(2);
    assert_eq!(told.in_cycle_s(), 600);
}

#[test]
fn a_run_that_has_not_ended_goes_on_and_its_hold_and_tool_life_are_as_before() {
    let mut told = Told::new(Floor::at_spindle());
    told.floor.set_tools(1, &[100, 400]).start(1, 1).wait_s(300);
    let life = |told: &Told| {
        let machine = told.shop().machines.get(&machine(1)).unwrap();
        machine
            .tools
            .iter()
            .map(|tool| tool.life_left_s)
            .collect::<Vec<_>>()
    };
    let before = life(&told);
    let at = told.floor.at();
    let (seq, finished) = told.does(finish(1, at));
    assert_ne!(life(&told), before, "the load took of the tool");
    told.floor.wait_s(300);
    assert_eq!(told.in_cycle_s(), 300);
    let correct = told.correct(seq, finished, Change::Withdraw);
    told.does(correct);
    assert_eq!(life(&told), before);
    assert_eq!(told.in_cycle_s(), 600, "the run goes on");
    let run = told.shop().runs.get(&run(1)).unwrap();
    assert_eq!(run.state, RunState::Running);
    assert!(told.shop().holds.is_empty());
}

#[test]
fn pieces_that_were_never_clamped_wait_where_they_were() {
    let mut told = Told::new(Floor::new());
    told.floor.set_up(1, 1);
    let before = piles_of_job(told.shop(), job(1));
    let at = told.floor.at();
    let (seq, loaded) = told.does(crate::floor::LoadPallet {
        pallet: pallet(1),
        load: load(5),
        clamped: vec![pieces(1, 10, 8)],
        at,
        overrides: Vec::new(),
    });
    assert_ne!(piles_of_job(told.shop(), job(1)), before);
    let correct = told.correct(seq, loaded, Change::Withdraw);
    told.does(correct);
    assert_eq!(piles_of_job(told.shop(), job(1)), before);
    assert!(told.shop().pallets.get(&pallet(1)).unwrap().load.is_none());
}

#[test]
fn what_something_stands_on_is_not_taken_back() {
    let mut told = Told::new(Floor::at_spindle());
    let at = told.floor.at();
    let (seq, started) = told.does(start(1, 1, at));
    told.floor.wait_s(60).finish(1);
    let correct = told.correct(seq, started, Change::Withdraw);
    assert_eq!(code(told.floor.given.when(correct)), "correction.moved-on");
}

/// The run ended at 10 minutes, not at 20; later somebody finds that it was 12.
#[test]
fn a_time_is_put_right_and_the_correction_too() {
    let mut told = Told::new(Floor::running());
    told.floor.wait_s(1_200);
    let at = told.floor.at();
    let (seq, finished) = told.does(finish(1, at));
    told.floor.wait_s(600).move_to(1, LOAD_STATION);
    assert_eq!(told.in_cycle_s(), 1_200);
    let ten = told.began.plus_s(600);
    let first = told.correct(seq, finished, Change::Time(ten));
    let (seq, retimed) = told.does(first);
    assert_eq!(told.in_cycle_s(), 600);
    assert_eq!(
        told.shop().runs.get(&run(1)).unwrap().state,
        RunState::Finished { at: ten }
    );
    let twelve = told.correct(seq, retimed, Change::Time(told.began.plus_s(720)));
    told.does(twelve);
    assert_eq!(told.in_cycle_s(), 720);
}

#[test]
fn a_start_and_a_pause_are_put_right() {
    let mut told = Told::new(Floor::at_spindle());
    told.floor.wait_s(600);
    let at = told.floor.at();
    let (started_seq, started) = told.does(start(1, 1, at));
    told.floor.wait_s(600);
    let at = told.floor.at();
    let (paused_seq, paused) = told.does(crate::floor::PauseRun {
        run: run(1),
        at,
        reason: crate::run::PauseReason::Alarm,
    });
    told.floor.wait_s(600).resume(1).wait_s(600).finish(1);
    assert_eq!(told.in_cycle_s(), 1_200);
    // It stood 300 s longer.
    let earlier = told.began.plus_s(900);
    let correct = told.correct(paused_seq, paused, Change::Time(earlier));
    told.does(correct);
    assert_eq!(told.in_cycle_s(), 900);
    assert_eq!(told.shop().runs.get(&run(1)).unwrap().stopped_us, 900_000_000);
    // It began 100 s before.
    let correct = told.correct(started_seq, started, Change::Time(told.began.plus_s(500)));
    told.does(correct);
    assert_eq!(told.in_cycle_s(), 1_000);
}

#[test]
fn the_order_of_acts_does_not_change_by_a_correction_of_time() {
    let mut told = Told::new(Floor::running());
    told.floor.wait_s(600);
    let at = told.floor.at();
    let (seq, finished) = told.does(finish(1, at));
    told.floor.wait_s(60).move_to(1, LOAD_STATION).wait_s(600);
    let late = told.correct(seq, finished.clone(), Change::Time(told.floor.at()));
    let refusal = told.floor.given.when(late).unwrap_err();
    assert_eq!(refusal.code(), "correction.out-of-order");
    let same = told.correct(seq, finished.clone(), Change::Time(at));
    assert_eq!(code(told.floor.given.when(same)), "correction.same-time");
    let far = told.correct(seq, finished, Change::Time(at.plus_s(-8 * 86_400)));
    assert_eq!(code(told.floor.given.when(far)), "correction.too-far");
}

/// E55's kind: the wrong piece was scrapped; the previous value is back, and both entries stay.
#[test]
fn a_wrong_count_is_put_right_as_a_difference() {
    let mut told = Told::new(Floor::cut());
    let at = told.floor.at();
    let wrong = Count {
        good: 7,
        scrapped: 1,
        ..good(1, 10, 0)
    };
    let (seq, unloaded) = told.does(unload(1, &[wrong], at));
    assert_eq!(told.good_and_scrapped(), (7, 1));
    let right = good(1, 10, 8);
    let correct = told.correct(seq, unloaded.clone(), Change::Counts(vec![right]));
    let (again, recounted) = told.does(correct);
    let job = told.shop().jobs.get(&job(1)).unwrap();
    assert_eq!((job.operations[0].good, job.operations[0].scrapped), (8, 0));
    assert_eq!(job.operations[1].came, 8, "the next operation has it");
    assert_eq!(told.good_and_scrapped(), (8, 0));
    // Back again: the correction is what is corrected now.
    let back = told.correct(again, recounted, Change::Counts(vec![wrong]));
    told.does(back);
    assert_eq!(told.good_and_scrapped(), (7, 1));
    let same = told.correct(seq, unloaded, Change::Counts(vec![right]));
    assert_eq!(code(told.floor.given.when(same)), "correction.corrected-already");
}

#[test]
fn pieces_that_have_moved_on_are_not_counted_away() {
    let mut told = Told::new(Floor::cut());
    let at = told.floor.at();
    let (seq, unloaded) = told.does(unload(1, &[good(1, 10, 8)], at));
    told.floor.clamp_next(1);
    let fewer = Count {
        good: 0,
        scrapped: 8,
        ..good(1, 10, 0)
    };
    let correct = told.correct(seq, unloaded.clone(), Change::Counts(vec![fewer]));
    let refusal = told.floor.given.when(correct).unwrap_err();
    assert_eq!(refusal.code(), "correction.pieces-moved-on");
    assert!(
        refusal.to_string().contains("what waits at the next operation"),
        "{refusal}"
    );
    let open = told.correct(seq, unloaded, Change::Counts(vec![good(1, 10, 7)]));
    assert_eq!(code(told.floor.given.when(open)), "correction.counts-open");
}

#[test]
fn what_others_told_is_the_leads_to_put_right() {
    let mut told = Told::new(Floor::running());
    told.floor.wait_s(600);
    let at = told.floor.at();
    let (seq, finished) = told.does(finish(1, at));
    let somebody = |number: u128| Actor::Person(PrincipalId(Uuid::from_u128(number)));
    let correct = Correct {
        told_by: somebody(1),
        ..told.correct(seq, finished, Change::Withdraw)
    };
    let by = |actor: Actor, now: Timestamp| {
        let context = Context {
            now,
            actor,
            login_taken: false,
            stretches: &told.floor.given.stretches,
        };
        told.shop().decide(&correct.clone().into(), &context)
    };
    let now = told.floor.at();
    assert_eq!(code(by(somebody(2), now)), "correction.not-yours");
    assert!(by(somebody(1), now.plus_s(900)).is_ok());
    assert_eq!(code(by(somebody(1), now.plus_s(901))), "correction.not-yours");
}

#[test]
fn an_entry_takes_only_the_corrections_that_are_for_it() {
    let mut told = Told::new(Floor::cut());
    let at = told.floor.at();
    let (seq, unloaded) = told.does(unload(1, &[good(1, 10, 8)], at));
    for change in [Change::Withdraw, Change::Time(at)] {
        let correct = told.correct(seq, unloaded.clone(), change);
        assert_eq!(code(told.floor.given.when(correct)), "correction.not-for-this");
    }
}
