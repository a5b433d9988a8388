//! Random histories of two devices, told late and in any order that keeps each device's own.

use super::{report, without_versions};
use crate::command::Command;
use crate::event::Event;
use crate::floor::tests::small_shop::*;
use crate::floor::{FinishSetup, LoadPallet, MountFixture, MovePallet, UnmountFixture};
use crate::job::AtOperation;
use crate::load::Stage;
use crate::pallet::Position;
use crate::shop::Shop;
use crate::shop::given::pallet;
use proptest::prelude::*;

/// What a device told, in its own order.
type Device = Vec<Command>;

/// The next act that makes sense for a pallet as it stands.
fn next_act(floor: &Floor, on: u8, choice: u8, number: u32) -> Command {
    let shop = &floor.given.shop;
    let known = shop.pallets.get(&pallet(on)).unwrap();
    let at = floor.at();
    let station = Position::LoadStation {
        number: u32::from(on),
    };
    let to = |to: Position| MovePallet {
        pallet: pallet(on),
        to,
        exchange: false,
        at,
    };
    let is_at_spindle = matches!(known.position, Position::Spindle { .. });
    let Some(own_setup) = &known.setup else {
        let mount = MountFixture {
            pallet: pallet(on),
            setup: setup(number),
            fixture: fixture(1),
            copy: Some(copy(on)),
            at,
        };
        return if known.position == station {
            mount.into()
        } else {
            to(station).into()
        };
    };
    if own_setup.ended_at.is_none() {
        let pallet = pallet(on);
        return FinishSetup { pallet, at }.into();
    }
    let Some(load_on) = &known.load else {
        return match (known.position == station, choice % 4) {
            (false, _) => to(station).into(),
            (true, 0) => UnmountFixture {
                pallet: pallet(on),
                at,
            }
            .into(),
            (true, _) => LoadPallet {
                pallet: pallet(on),
                load: load(number),
                clamped: vec![pieces(1, 10, 1 + u32::from(choice % 2))],
                at,
                overrides: Vec::new(),
            }
            .into(),
        };
    };
    match load_on.stage {
        Stage::Ready if is_at_spindle => start(on, number, at).into(),
        Stage::Ready => to(spindle(on)).into(),
        Stage::InRun { run } => {
            let finish = finish(number, at);
            crate::floor::FinishRun { run, ..finish }.into()
        }
        Stage::Cut { .. } | Stage::Aborted { .. } if known.position == station => {
            let all = load_on.pieces();
            unload(on, &[good(1, 10, all)], at).into()
        }
        Stage::Cut { .. } | Stage::Aborted { .. } => to(station).into(),
    }
}

/// Each pallet is one device's: the order of its acts is that of the device. They share the job, the fixture's copies and
/// the places.
fn history(choices: &[(u8, u8)]) -> (Vec<Command>, [Device; 2], Floor) {
    let mut floor = Floor::new();
    let (mut all, mut devices) = (Vec::new(), [Vec::new(), Vec::new()]);
    for (number, (who, choice)) in (10_u32..).zip(choices) {
        floor.wait_s(60);
        let on = 1 + who % 2;
        let command = next_act(&floor, on, *choice, number);
        let Ok(events) = floor.given.when(command.clone()) else {
            continue;
        };
        for event in events {
            floor.given.happened(event);
        }
        devices[usize::from(on - 1)].push(command.clone());
        all.push(command);
    }
    (all, devices, floor)
}

#[derive(Default)]
struct Outcomes {
    booked: usize,
    parked: usize,
    settled: usize,
    refused: usize,
}

fn deliver(commands: &[Command]) -> (Floor, Outcomes) {
    let mut floor = Floor::new();
    floor.wait_s(72 * 3_600);
    let mut outcomes = Outcomes::default();
    for (number, command) in (1_u32..).zip(commands) {
        floor.wait_s(1);
        let Ok(events) = floor.given.when(report(number, command.clone())) else {
            outcomes.refused += 1;
            continue;
        };
        match events.first() {
            Some(Event::ActParked(_)) => outcomes.parked += 1,
            _ => outcomes.booked += 1,
        }
        for event in events {
            outcomes.settled += usize::from(matches!(event, Event::ActSettled(_)));
            floor.given.happened(event);
        }
    }
    (floor, outcomes)
}

/// Released = waiting + clamped + to inspection + good + scrapped + in rework, at the first operation; what it gave is
/// what came to the next one.
fn pieces_are_conserved(shop: &Shop) -> bool {
    let job = shop.jobs.get(&job(1)).unwrap();
    let all = |at: &AtOperation| {
        [
            at.waiting(),
            at.clamped,
            at.inspection,
            at.good,
            at.scrapped,
            at.rework,
            at.out,
            at.returned,
        ]
        .iter()
        .sum::<u32>()
    };
    let flows = job.operations.windows(2).all(|pair| pair[0].good == pair[1].came);
    job.operations[0].came == job.released && flows && job.operations.iter().all(|at| all(at) == at.came)
}

/// What was last said of a thing may have been said in another order.
fn comparable(shop: &Shop) -> serde_json::Value {
    let mut value = without_versions(shop);
    for name in ["seq", "deviations", "open_work"] {
        value.as_object_mut().unwrap().remove(name);
    }
    value
}

fn interleaved([mut one, mut other]: [Device; 2], order: &[bool]) -> Vec<Command> {
    let mut merged = Vec::new();
    let mut order = order.iter().cycle();
    one.reverse();
    other.reverse();
    while !one.is_empty() || !other.is_empty() {
        let first = *order.next().unwrap();
        let next = if first {
            one.pop().or_else(|| other.pop())
        } else {
            other.pop().or_else(|| one.pop())
        };
        merged.extend(next);
    }
    merged
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// Told late but in the order in which it happened, a history gives the shop that it gave while it happened.
    #[test]
    fn a_history_told_late_in_its_order_is_the_same(choices in prop::collection::vec((0_u8..2, any::<u8>()), 5..60)) {
        let (all, _, live) = history(&choices);
        let (late, outcomes) = deliver(&all);
        prop_assert_eq!((outcomes.booked, outcomes.parked, outcomes.refused), (all.len(), 0, 0));
        prop_assert_eq!(comparable(&late.given.shop), comparable(&live.given.shop));
    }

    /// In any other order each act is booked, parked or refused, once; pieces are conserved; and where all settled without
    /// a deviation, the shop is the one that it would have been.
    #[test]
    fn each_act_counts_once_in_whatever_order_devices_are_heard(
        choices in prop::collection::vec((0_u8..2, any::<u8>()), 5..60),
        order in prop::collection::vec(any::<bool>(), 1..40),
    ) {
        let (all, devices, live) = history(&choices);
        let (late, outcomes) = deliver(&interleaved(devices, &order));
        let shop = &late.given.shop;
        prop_assert_eq!(outcomes.refused, 0, "what happened is never refused");
        prop_assert_eq!(outcomes.booked + outcomes.parked, all.len());
        prop_assert_eq!(outcomes.parked, outcomes.settled + shop.parked.len());
        prop_assert!(pieces_are_conserved(shop));
        if shop.parked.is_empty() && shop.deviations.is_empty() {
            prop_assert_eq!(comparable(shop), comparable(&live.given.shop));
        }
    }
}
