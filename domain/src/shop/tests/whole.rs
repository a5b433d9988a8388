//! Everything at once: the office, the pallets of two cells, steps by hand and the inspector, in random sequences, against
//! a model that was written from the words of the rules alone. Each act is taken exactly if the model takes it, and after
//! each the shop is as the model has it.

mod acts;
mod model;
mod world;

use self::acts::{Act, acts, command};
use self::model::{Kind, Model, Place, Stage};
use self::world::{MACHINES, is_attended, number};
use crate::event::Event;
use crate::hours::{Category, sweep};
use crate::ids::Track;
use crate::load::{self, HoldKind};
use crate::pool::{PalletState, cuts_until, pool};
use crate::shop::Shop;
use crate::shop::given::*;
use crate::stretches::MachineMarks;
use crate::time::{Timestamp, US_PER_SECOND, Window};
use proptest::prelude::*;
use proptest::test_runner::TestRunner;
use std::cell::RefCell;
use std::collections::BTreeMap;

type Counted = BTreeMap<String, u32>;

/// Invariants 1 to 4: what was taken is read again from the ledger and gives the same shop; what is held, not approved or
/// not cleared is neither offered nor started; pieces are conserved at every operation, and so are seconds.
#[test]
fn the_shop_is_as_its_rules_say() {
    let counted = RefCell::new(Counted::new());
    let mut runner = TestRunner::new(ProptestConfig {
        cases: 1_000,
        failure_persistence: None,
        ..ProptestConfig::default()
    });
    let done = runner.run(&acts(), |acts| {
        live(&acts, &mut counted.borrow_mut());
        Ok(())
    });
    if let Err(error) = done {
        panic!("{error}");
    }
    let counted = counted.into_inner();
    for what in IMPORTANT {
        assert!(counted.contains_key(*what), "{what} never happened: {counted:#?}");
    }
}

/// Events that happened and refusals that were given: without them the sequences would not reach what they are about.
const IMPORTANT: &[&str] = &[
    "act.not-at-load-station",
    "cell.queue_set",
    "fixture.copy_added",
    "disposition.more-than-held",
    "disposition.not-cut",
    "hold.disposed",
    "hold.placed",
    "hold.still-cut",
    "inspection.moved-on",
    "inspection.reversed",
    "inspection.reversed-already",
    "job.blanks_added",
    "job.inspected",
    "job.material-not-arrived",
    "job.more-back-than-out",
    "job.more-than-inspected",
    "job.pieces-held",
    "job.split",
    "job.split-too-large",
    "job.step_back",
    "job.step_out",
    "job.too-few-waiting",
    "load.loaded-already",
    "load.material-not-arrived",
    "load.nests-short",
    "load.no-setup",
    "machine.set_down",
    "mount.no-copy-free",
    "move.held",
    "move.place-taken",
    "order.completed",
    "order.entered",
    "order.line_cancelled",
    "order.line_changed",
    "order.line_completed",
    "order.line_released",
    "order.not-full",
    "order.not-made",
    "order.shipped",
    "pallet.loaded",
    "pallet.moved",
    "pallet.unloaded",
    "pallet.unmounted",
    "part.routing_set",
    "run.aborted",
    "run.cut-already",
    "run.finished",
    "run.first-piece-open",
    "run.machine-down",
    "run.not-cleared-unattended",
    "run.not-next",
    "run.paused",
    "run.resumed",
    "run.started",
    "run.wrong-machine",
    "setup.ended",
    "setup.started",
    "unload.decided-otherwise",
    "unload.held",
];

fn live(acts: &[Act], counted: &mut Counted) {
    let mut given = world::shop();
    let (before, mut model) = (given.shop.clone(), Model::new());
    let mut happened = Vec::new();
    for act in acts {
        let Some(act) = &model.aim(act) else { continue };
        if let Act::Wait { seconds } = act {
            given.now = given.now.plus_s(*seconds);
            assert!(model.takes(act));
            continue;
        }
        let command = command(&model, act, given.now).unwrap();
        let untouched = given.shop.clone();
        let decided = given.when(command);
        let is_taken = model.takes(act);
        let code = decided.as_ref().err().map(crate::refusal::Refusal::code);
        assert_eq!(decided.is_ok(), is_taken, "{act:?}: {code:?}");
        *counted.entry(code.unwrap_or("taken").to_owned()).or_default() += 1;
        if !is_taken {
            assert_eq!(given.shop, untouched, "a refusal changes nothing");
            continue;
        }
        let mut seq = given.seq();
        for event in decided.unwrap_or_default() {
            seq += 1;
            model.numbered(&event, seq);
            *counted.entry(event.kind().to_owned()).or_default() += 1;
            given.happened(event.clone());
            happened.push((event, given.now));
        }
        check(&given, &mut model);
    }
    is_read_again(&given, &before, &happened);
    seconds_are_conserved(&given, &model);
}

/// Invariant 1, as far as it is the domain's: the ledger's bytes give the same shop and the same stretches.
fn is_read_again(given: &Given, before: &Shop, happened: &[(Event, Timestamp)]) {
    let mut again = world::shop();
    assert_eq!(&again.shop, before);
    for (event, at) in happened {
        let read = Event::decode(event.kind(), event.schema(), &event.encode().unwrap()).unwrap();
        assert_eq!(&read, event);
        again.now = *at;
        again.happened(read);
    }
    assert_eq!(again.shop, given.shop);
    assert_eq!(again.stretches, given.stretches);
    let snapshot: Shop = serde_json::from_slice(&serde_json::to_vec(&given.shop).unwrap()).unwrap();
    assert_eq!(snapshot, given.shop);
}

fn check(given: &Given, model: &mut Model) {
    let shop = &given.shop;
    pallets_stand_where_they_stand(shop, model);
    orders_are_as_they_are(shop, model);
    pieces_are_where_they_are(shop, model);
    what_is_looked_at_is_known(shop, model);
    if model.tick.is_multiple_of(3) {
        nothing_is_offered_that_may_not_be_cut(given, model);
    }
}

fn pallets_stand_where_they_stand(shop: &Shop, model: &Model) {
    for (number, expected) in &model.pallets {
        let found = shop.pallets.get(&pallet(*number)).unwrap();
        assert_eq!(found.position, expected.spot.position());
        let setup = found
            .setup
            .as_ref()
            .map(|setup| (setup.fixture, setup.copy, setup.ended_at.is_some()));
        let wanted = expected
            .setup
            .map(|(_, of, copy_no, ended)| (fixture(of), copy(copy_no), ended));
        assert_eq!(setup, wanted);
        let stage = |load: &model::Load| match load.stage {
            Stage::Ready => "ready",
            Stage::InRun(_) => "in run",
            Stage::Cut(_) => "cut",
            Stage::Aborted => "aborted",
        };
        let found_stage = found.load.as_ref().map(|load| match load.stage {
            load::Stage::Ready => "ready",
            load::Stage::InRun { .. } => "in run",
            load::Stage::Cut { .. } => "cut",
            load::Stage::Aborted { .. } => "aborted",
        });
        assert_eq!(found_stage, expected.load.as_ref().map(stage));
    }
    for (number, expected) in &model.machines {
        let found = shop.machines.get(&machine(*number)).unwrap();
        assert_eq!(found.run, expected.run.as_ref().map(|run| acts::run(run.no)));
    }
    for (number, expected) in &model.queues {
        let expected: Vec<_> = expected.iter().map(|number| pallet(*number)).collect();
        assert_eq!(shop.cells.get(&cell(*number)).unwrap().queue, expected);
    }
}

fn orders_are_as_they_are(shop: &Shop, model: &mut Model) {
    let open = model.orders.iter().filter(|(_, order)| order.is_open);
    let open: Vec<_> = open.map(|(number, _)| *number).collect();
    assert_eq!(shop.orders.len(), open.len());
    for number in open {
        let lines = &shop.orders.get(&order(number)).unwrap().lines;
        for (found, expected) in lines.iter().zip(&model.orders[&number].lines) {
            assert_eq!(
                (found.quantity, found.is_closed(), found.shipped()),
                (expected.quantity, expected.is_closed, model.shipped(expected))
            );
            let lots: Vec<_> = expected.lots.iter().map(|lot| job(*lot)).collect();
            assert_eq!(found.jobs(), lots);
            let wanted: u32 = found
                .jobs()
                .iter()
                .map(|lot| shop.jobs.get(lot).unwrap().quantity)
                .sum();
            assert!(lots.is_empty() || wanted == expected.quantity);
        }
    }
    // How lots share a change is the shop's rule; the model follows it.
    for (number, lot) in &mut model.jobs {
        if let Some(found) = shop.jobs.get(&job(*number)) {
            lot.wanted = found.quantity;
        }
    }
}

/// Invariant 3, at every operation of every job.
fn pieces_are_where_they_are(shop: &Shop, model: &Model) {
    let in_open_orders = model
        .jobs
        .iter()
        .filter(|(_, job)| model.orders[&job.order].is_open);
    let jobs: Vec<_> = in_open_orders.collect();
    assert_eq!(shop.jobs.len(), jobs.len());
    for (number, expected) in jobs {
        let found = shop.jobs.get(&job(*number)).unwrap();
        assert_eq!(found.is_open(), expected.is_open);
        assert_eq!(found.released, model.count(|piece| piece.job == *number));
        for (step, at) in found.operations.iter().enumerate() {
            let here = |is: fn(Place) -> bool| {
                model.count(|piece| (piece.job, piece.step) == (*number, step) && is(piece.place))
            };
            let came = model.count(|piece| piece.job == *number && piece.step >= step);
            let good = model.count(|piece| {
                piece.job == *number
                    && (piece.step > step || (piece.step == step && piece.place == Place::Finished))
            });
            let expected = [
                here(|place| place == Place::Waiting),
                here(|place| matches!(place, Place::On { .. })),
                here(|place| place == Place::Inspection),
                good,
                here(|place| place == Place::Scrapped),
                here(|place| place == Place::Rework),
                here(|place| matches!(place, Place::Out(_))),
                here(|place| place == Place::Returned),
            ];
            let found = [
                at.waiting(),
                at.clamped,
                at.inspection,
                at.good,
                at.scrapped,
                at.rework,
                at.out,
                at.returned,
            ];
            assert_eq!(found, expected);
            assert_eq!(
                (at.came, found.iter().sum()),
                (came, came),
                "nothing is lost and nothing comes from nowhere"
            );
        }
    }
}

fn what_is_looked_at_is_known(shop: &Shop, model: &Model) {
    let mut found: Vec<_> = shop
        .holds
        .values()
        .map(|hold| (hold.id, hold.kind, hold.pallet))
        .collect();
    let kind = |kind: Kind| match kind {
        Kind::FirstPiece => HoldKind::FirstPiece,
        Kind::FirstArticle => HoldKind::FirstArticle,
        Kind::Suspect => HoldKind::Suspect,
    };
    let expected = model.holds.iter();
    let expected: Vec<_> = expected
        .map(|(no, hold)| (acts::hold(*no), kind(hold.kind), pallet(hold.pallet)))
        .collect();
    found.sort_by_key(|(hold, ..)| *hold);
    assert_eq!(found, expected);
    let found = shop.approvals.values().flatten();
    let mut found: Vec<_> = found
        .map(|one| (one.job, one.operation, one.setup, one.machine, one.first_article))
        .collect();
    let expected = model.approvals.keys();
    let mut expected: Vec<_> = expected
        .map(|(of, step, setup, on, formal)| {
            (
                job(*of),
                number(*step),
                acts::setup(*setup),
                machine(*on),
                *formal,
            )
        })
        .collect();
    found.sort();
    expected.sort();
    assert_eq!(found, expected, "and nothing of closed jobs");
}

/// Invariant 2: what the pool and the look ahead propose. That nothing of the kind starts says the model at each start.
fn nothing_is_offered_that_may_not_be_cut(given: &Given, model: &Model) {
    for of in [1, 2] {
        let known = given.shop.cells.get(&cell(of)).unwrap();
        let seen = pool(&given.shop, known, given.now);
        for line in &seen.pallets {
            let own = (1..6).find(|number| pallet(*number) == line.pallet).unwrap();
            let held = model.load_on(own).is_some_and(|load| load.hold.is_some());
            let is_held = line.state == PalletState::Held;
            assert!(is_held == held || line.state == PalletState::InRun, "{line:?}");
        }
        for line in &seen.jobs {
            let own = (1..=model.newest_job())
                .find(|number| job(*number) == line.job)
                .unwrap();
            let step = usize::from(line.operation / 10) - 1;
            assert!(line.waiting <= model.at(own, step, Place::Waiting));
            for on in &line.pallets {
                let on = (1..6).find(|number| pallet(*number) == *on).unwrap();
                assert!(
                    model
                        .load_on(on)
                        .is_none_or(|load| load.stage == Stage::Ready && load.hold.is_none())
                );
            }
        }
        let ahead = cuts_until(&given.shop, known, given.now);
        for cuts in &ahead.machines {
            let on = MACHINES
                .into_iter()
                .find(|(number, _)| machine(*number) == cuts.machine)
                .unwrap()
                .0;
            for counted in &cuts.loads {
                let own = (1..6).find(|number| pallet(*number) == counted.pallet).unwrap();
                if model.machines[&on]
                    .run
                    .as_ref()
                    .is_some_and(|run| run.pallet == own)
                {
                    continue;
                }
                let starts_s = (counted.starts_at.0 - START.0) / US_PER_SECOND;
                assert!(model.may_be_cut(own, on), "{counted:?}");
                assert!(is_attended(starts_s) || model.is_cleared(own, on), "{counted:?}");
            }
        }
    }
}

/// Invariant 4: each second of a machine is in one category, and as many are in cycle, stopped and down as the model says.
fn seconds_are_conserved(given: &Given, model: &Model) {
    for (number, expected) in &model.machines {
        let of = cell(expected.cell);
        let pallets = given.shop.pallets_of(of).into_iter().map(Track::from);
        let read: Vec<_> = [machine(*number).into(), of.into()]
            .into_iter()
            .chain(pallets)
            .collect();
        let rows = given
            .stretches
            .iter()
            .filter(|((track, _, _), _)| read.contains(track));
        let rows = rows.map(|((track, _, _), marks)| (*track, marks.clone()));
        let marks = MachineMarks::of_machine(machine(*number), of, rows);
        let end_s = model.now_s;
        let days = (0..=end_s / 86_400).map(|day| (day * 86_400, (day * 86_400 + 86_400).min(end_s)));
        let windows: Vec<_> = days.map(|(from, to)| Window::new(at_s(from), at_s(to))).collect();
        let rows = sweep(&marks, &windows, &[], given.now, None);
        let mut sums = [0; 3];
        for (row, window) in rows.iter().zip(&windows) {
            assert_eq!(row.seconds.sum() * US_PER_SECOND, window.to.0 - window.from.0);
            sums[0] += row.seconds.in_cycle();
            sums[1] += row.seconds[Category::StoppedInRun];
            sums[2] += row.seconds[Category::Down];
        }
        let down_s: i64 = expected.downs.iter().map(|(from, to)| to - from).sum();
        let open_down_s = expected.down_since_s.map_or(0, |since_s| end_s - since_s);
        assert_eq!(sums[2], down_s + open_down_s);
        // Of a run that is open nobody can say yet how far it was cut.
        if expected.run.is_none() {
            let without_downs = |spans: &[(i64, i64)]| -> i64 {
                spans.iter().map(|span| outside_s(*span, expected, end_s)).sum()
            };
            assert_eq!(
                sums[..2],
                [without_downs(&expected.cut), without_downs(&expected.stopped)]
            );
        }
    }
}

/// What of a span lies outside of the times for which the machine was down.
fn outside_s((from, to): (i64, i64), of: &model::Machine, end_s: i64) -> i64 {
    let open = of.down_since_s.map(|since_s| (since_s, end_s));
    let downs = of.downs.iter().copied().chain(open);
    let covered: i64 = downs.map(|(down, up)| (up.min(to) - down.max(from)).max(0)).sum();
    to - from - covered
}
