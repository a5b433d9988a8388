//! The lead publishes a plan every Monday before the early shift, and once more when a machine breaks down.

use super::dice::Dice;
use super::frame::{Frame, ZONE, later};
use super::shop::Shop;
use super::{Step, down, person};
use chrono::NaiveDate;
use spindlebook_domain::calendar::{attended, staffed};
use spindlebook_domain::ids::{MachineId, PlanId};
use spindlebook_domain::plan::{PostPlan, PublishPlan, Slot};
use spindlebook_domain::time::{Timestamp, Window};

const CYCLES_MIN: [i64; 6] = [24, 33, 42, 51, 64, 82];
const EXCHANGE_S: i64 = 120;

pub fn steps(shop: &Shop, frame: &Frame, dice: &mut Dice) -> Vec<Step> {
    let mut steps = Vec::new();
    let down = down::window(frame);
    let mondays = std::iter::successors(Some(frame.detailed_from), |monday| Some(later(*monday, 7)));
    for monday in mondays.take_while(|monday| *monday <= frame.this_week) {
        let slots = slots(shop, frame, monday, dice);
        let published_at = frame.wall(monday, 5, 30);
        if frame.week(monday).contains(down.from) {
            // What is known by then: the machine will not run before Monday.
            let runs = |slot: &Slot| !shop.goes_down(slot.machine) || slot.ends_at() <= down.from;
            let without = slots.iter().filter(|slot| runs(slot)).cloned().collect();
            steps.extend(publish(shop, frame.wall(later(monday, 3), 11, 10), without, dice));
        }
        steps.extend(publish(shop, published_at, slots, dice));
    }
    steps
}

fn publish(shop: &Shop, at: Timestamp, slots: Vec<Slot>, dice: &mut Dice) -> [Step; 2] {
    let (lead, plan) = (person(shop.planner), PlanId(dice.uuid()));
    [
        Step::new(dice, at.plus_s(-240), lead, PostPlan { plan, slots }),
        Step::new(dice, at, lead, PublishPlan { plan }),
    ]
}

fn slots(shop: &Shop, frame: &Frame, monday: NaiveDate, dice: &mut Dice) -> Vec<Slot> {
    let week = frame.week(monday);
    let mut slots = Vec::new();
    for machine in &shop.pool_machines {
        pool_slots(machine.id, frame, week, dice, &mut slots);
    }
    standalone_slots(shop.standalone, frame, week, dice, &mut slots);
    slots
}

/// Pallet after pallet with a set-up now and then, and what is loaded last runs on into the night.
fn pool_slots(machine: MachineId, frame: &Frame, week: Window, dice: &mut Dice, slots: &mut Vec<Slot>) {
    let mut at = week.from;
    for shift in attended(&frame.site_calendar, ZONE, week) {
        at = at.max(shift.from);
        while at < shift.to {
            at = slot(machine, at, dice.pick(&CYCLES_MIN) * 60, slots).plus_s(EXCHANGE_S);
            if dice.percent(40) {
                at = at.plus_s(dice.minutes(20, 60));
            }
        }
        for _ in 0..dice.between(2, 3) {
            at = slot(machine, at, dice.pick(&CYCLES_MIN) * 60, slots).plus_s(EXCHANGE_S);
        }
    }
}

fn standalone_slots(machine: MachineId, frame: &Frame, week: Window, dice: &mut Dice, slots: &mut Vec<Slot>) {
    let mut at = week.from;
    for stretch in staffed(&frame.day_calendar, ZONE, week) {
        at = at.max(stretch.from.plus_s(1_500));
        while at.plus_s(2_100) <= stretch.to {
            at = slot(machine, at, dice.pick(&[1_500, 1_800, 2_100]), slots).plus_s(dice.minutes(22, 40));
        }
    }
}

/// Gives the end.
fn slot(machine: MachineId, starts_at: Timestamp, cycle_s: i64, slots: &mut Vec<Slot>) -> Timestamp {
    slots.push(Slot {
        machine,
        starts_at,
        cycle_s: u32::try_from(cycle_s).unwrap_or_default(),
    });
    starts_at.plus_s(cycle_s)
}
