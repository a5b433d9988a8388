mod answers;
pub(super) mod generated;

use super::{PlanStanding, PostPlan, PublishPlan, SLOT_CYCLE_S_MAX, SLOTS_MAX, Slot};
use crate::event::Event;
use crate::machine::{AddMachine, Placement};
use crate::shop::given::{Given, an_open_site, at_s, cell, code, machine, name, plan, refused};
use crate::time::Timestamp;

fn a_shop() -> Given {
    let mut given = an_open_site();
    for number in 1..=2 {
        given.does(AddMachine {
            machine: machine(number),
            placement: Placement::Standalone(cell(number)),
            code: code(&format!("M{number}")),
            name: name("Mill"),
            silent_after_s: None,
        });
    }
    given
}

fn slot(number: u8, from_s: i64, cycle_s: u32) -> Slot {
    Slot {
        machine: machine(number),
        starts_at: at_s(from_s),
        cycle_s,
    }
}

fn post(slots: &[Slot]) -> PostPlan {
    PostPlan {
        plan: plan(1),
        slots: slots.to_vec(),
    }
}

#[test]
fn every_refusal_of_posting_in_its_order() {
    let given = a_shop();
    let too_many = vec![slot(1, 0, 1); SLOTS_MAX + 1];
    assert_eq!(refused(given.when(post(&too_many))), "plan.too-many-slots");
    assert_eq!(
        refused(given.when(post(&[slot(9, 0, 60)]))),
        "plan.machine-unknown"
    );
    assert_eq!(
        refused(given.when(post(&[slot(1, 0, 0)]))),
        "plan.cycle-out-of-range"
    );
    assert_eq!(
        refused(given.when(post(&[slot(1, 0, SLOT_CYCLE_S_MAX + 1)]))),
        "plan.cycle-out-of-range"
    );
    let in_1970 = Slot {
        starts_at: Timestamp(0),
        ..slot(1, 0, 60)
    };
    assert_eq!(refused(given.when(post(&[in_1970]))), "plan.slot-out-of-range");
    assert_eq!(
        refused(given.when(post(&[slot(1, 60, 60), slot(1, 0, 61)]))),
        "plan.slots-overlap"
    );
}

#[test]
fn one_spindle_one_run_but_two_spindles_two() {
    let given = a_shop();
    let events = given
        .when(post(&[slot(2, 0, 600), slot(1, 600, 60), slot(1, 0, 600)]))
        .unwrap();
    let [Event::PlanPosted(posted)] = events.as_slice() else {
        panic!("one entry")
    };
    assert_eq!(posted.slots, [slot(1, 0, 600), slot(1, 600, 60), slot(2, 0, 600)]);
}

#[test]
fn a_plan_is_published_once() {
    let mut given = a_shop();
    let publish = PublishPlan { plan: plan(1) };
    assert_eq!(refused(given.when(publish.clone())), "plan.unknown");
    given.does(post(&[])).does(publish.clone());
    assert_eq!(refused(given.when(publish)), "plan.already-published");
    assert_eq!(refused(given.when(post(&[]))), "plan.id-taken");
    assert_eq!(given.shop.current_plan, Some(plan(1)));
    let standing = given.shop.plans.get(&plan(1)).unwrap().standing;
    assert_eq!(
        standing,
        PlanStanding::Published {
            at: given.now,
            seq: given.seq()
        }
    );
}

#[test]
fn a_refusal_points_to_the_slot_as_it_was_sent() {
    let given = a_shop();
    let pointer = |slots: &[Slot]| given.when(post(slots)).unwrap_err().pointer();
    assert_eq!(pointer(&[slot(1, 0, 60), slot(9, 0, 60)]), "/slots/1/machine");
    assert_eq!(pointer(&[slot(1, 60, 60), slot(1, 0, 61)]), "/slots/0/starts_at");
}
