//! Random acts against an independent model: plain maps of what stands where and how many pieces are where. It is told
//! what was accepted and says what must then be true.

use super::small_shop::{piles_of_job, *};
use crate::command::Command;
use crate::event::Event;
use crate::floor::*;
use crate::inspection::DisposeHold;
use crate::load::{Clamped, Disposition, Stage};
use crate::pallet::Position;
use crate::pool::{WaitCode, pool};
use crate::run::{AbortReason, PauseReason};
use crate::shop::Shop;
use crate::shop::given::{Given, an_open_site, machine};
use crate::time::Timestamp;
use proptest::prelude::*;
use std::collections::{BTreeMap, BTreeSet};

#[derive(Clone, Debug)]
enum Act {
    Mount {
        pallet: u8,
        fixture: u8,
    },
    FinishSetup {
        pallet: u8,
    },
    Unmount {
        pallet: u8,
    },
    Load {
        pallet: u8,
        job: u8,
        second: bool,
        pieces: u32,
        rework: bool,
    },
    Move {
        pallet: u8,
        to: usize,
        exchange: bool,
    },
    Queue {
        pallets: Vec<u8>,
    },
    Start {
        machine: u8,
    },
    Pause,
    Resume,
    Finish,
    Abort,
    Unload {
        pallet: u8,
        counts: Vec<[u32; 5]>,
    },
    /// As the rules want it: everything good, or uncut where nothing was cut.
    UnloadWell {
        pallet: u8,
    },
    Hold {
        pallet: u8,
    },
    Accept,
    Wait {
        seconds: i64,
    },
}

const PLACES: usize = 7;

fn place(index: usize) -> Position {
    match index {
        0 | 1 => Position::LoadStation {
            number: u32::try_from(index).unwrap() + 1,
        },
        2..=4 => Position::Stand {
            number: u32::try_from(index).unwrap() - 1,
        },
        5 => spindle(1),
        _ => spindle(2),
    }
}

fn act() -> impl Strategy<Value = Act> {
    let pallet = 1u8..4;
    let five = || prop::array::uniform5(0u32..4);
    prop_oneof![
        3 => (pallet.clone(), 1u8..3).prop_map(|(pallet, fixture)| Act::Mount { pallet, fixture }),
        4 => pallet.clone().prop_map(|pallet| Act::FinishSetup { pallet }),
        1 => pallet.clone().prop_map(|pallet| Act::Unmount { pallet }),
        8 => (pallet.clone(), 1u8..3, any::<bool>(), 0u32..5, prop::bool::weighted(0.2))
            .prop_map(|(pallet, job, second, pieces, rework)| Act::Load { pallet, job, second, pieces, rework }),
        12 => (pallet.clone(), 0..PLACES, prop::bool::weighted(0.3))
            .prop_map(|(pallet, to, exchange)| Act::Move { pallet, to, exchange }),
        1 => prop::collection::vec(1u8..4, 0..3).prop_map(|pallets| Act::Queue { pallets }),
        8 => (1u8..3).prop_map(|machine| Act::Start { machine }),
        2 => Just(Act::Pause),
        2 => Just(Act::Resume),
        6 => Just(Act::Finish),
        3 => Just(Act::Abort),
        2 => (pallet.clone(), prop::collection::vec(five(), 1..3))
            .prop_map(|(pallet, counts)| Act::Unload { pallet, counts }),
        6 => pallet.clone().prop_map(|pallet| Act::UnloadWell { pallet }),
        1 => pallet.prop_map(|pallet| Act::Hold { pallet }),
        3 => Just(Act::Accept),
        4 => (0i64..40_000).prop_map(|seconds| Act::Wait { seconds }),
    ]
}

/// Single acts, and whole passages whose steps each may be refused: by single acts alone hardly any run would begin.
fn acts(most: usize) -> impl Strategy<Value = Vec<Act>> {
    let passage = (
        1u8..4,
        1u8..3,
        1u8..3,
        1u8..3,
        any::<bool>(),
        1u32..5,
        prop::bool::weighted(0.2),
    );
    let passage = passage.prop_map(|(pallet, fixture, machine, job, second, pieces, rework)| {
        let to_spindle = usize::from(4 + machine);
        vec![
            Act::Move {
                pallet,
                to: 0,
                exchange: true,
            },
            Act::Mount { pallet, fixture },
            Act::FinishSetup { pallet },
            Act::Load {
                pallet,
                job,
                second,
                pieces,
                rework,
            },
            Act::Move {
                pallet,
                to: to_spindle,
                exchange: true,
            },
            Act::Start { machine },
        ]
    });
    let off = (
        1u8..4,
        prop::collection::vec(prop::array::uniform5(0u32..3), 1..3),
    )
        .prop_map(|(pallet, counts)| {
            vec![
                Act::Move {
                    pallet,
                    to: 1,
                    exchange: true,
                },
                Act::Unload { pallet, counts },
            ]
        });
    let steps = prop_oneof![4 => act().prop_map(|act| vec![act]), 2 => passage, 1 => off];
    prop::collection::vec(steps, 1..most).prop_map(|steps| steps.concat())
}

/// Job 1 needs no check; job 2 has a first piece at its one operation.
fn shop() -> Floor {
    let mut floor = Floor::new();
    let mut checked = machining(&[1, 2]);
    checked.first_piece = true;
    floor.release(2, 20, vec![operation(10, checked)]);
    floor.set_calendar().given.now = crate::shop::given::at_s(3_600);
    floor
}

fn clamped_on(shop: &Shop, number: u8) -> Vec<Clamped> {
    let pallet = shop.pallets.get(&pallet(number)).unwrap();
    pallet
        .load
        .as_ref()
        .map(|load| load.clamped.clone())
        .unwrap_or_default()
}

fn command(floor: &mut Floor, act: &Act) -> Option<Command> {
    if let Act::Wait { seconds } = act {
        floor.wait_s(*seconds);
        return None;
    }
    let (at, fresh) = (floor.at(), floor.fresh());
    let shop = &floor.given.shop;
    on_pallet(shop, act, at, fresh)
        .or_else(|| on_run(shop, act, at, fresh))
        .or_else(|| counting(shop, act, at))
}

fn on_pallet(shop: &Shop, act: &Act, at: Timestamp, fresh: u32) -> Option<Command> {
    Some(match act {
        Act::Mount {
            pallet: on,
            fixture: of,
        } => MountFixture {
            pallet: pallet(*on),
            setup: setup(fresh),
            fixture: fixture(*of),
            copy: None,
            at,
        }
        .into(),
        Act::FinishSetup { pallet: on } => FinishSetup {
            pallet: pallet(*on),
            at,
        }
        .into(),
        Act::Unmount { pallet: on } => UnmountFixture {
            pallet: pallet(*on),
            at,
        }
        .into(),
        Act::Load {
            pallet: on,
            job,
            second,
            pieces: many,
            rework,
        } => LoadPallet {
            pallet: pallet(*on),
            load: load(fresh),
            clamped: vec![Clamped {
                rework: *rework,
                ..pieces(*job, if *second { 20 } else { 10 }, *many)
            }],
            at,
            overrides: Vec::new(),
        }
        .into(),
        Act::Move {
            pallet: what,
            to,
            exchange,
        } => MovePallet {
            pallet: pallet(*what),
            to: place(*to),
            exchange: *exchange,
            at,
        }
        .into(),
        Act::Hold { pallet: on } => suspect(*on, fresh, at).into(),
        Act::Accept => DisposeHold {
            hold: shop.holds.values().next()?.id,
            ..dispose(0, Disposition::Accept, at)
        }
        .into(),
        _ => return None,
    })
}

fn on_run(shop: &Shop, act: &Act, at: Timestamp, fresh: u32) -> Option<Command> {
    let open = (1..3).find_map(|number| shop.machines.get(&machine(number))?.run);
    Some(match act {
        Act::Start { machine: on } => start(*on, fresh, at).into(),
        Act::Pause => PauseRun {
            run: open?,
            at,
            reason: PauseReason::Tool,
        }
        .into(),
        Act::Resume => ResumeRun { run: open?, at }.into(),
        Act::Finish => FinishRun {
            run: open?,
            at,
            hold: hold(fresh),
        }
        .into(),
        Act::Abort => AbortRun {
            run: open?,
            at,
            reason: AbortReason::Other,
            note: None,
        }
        .into(),
        _ => return None,
    })
}

fn counting(shop: &Shop, act: &Act, at: Timestamp) -> Option<Command> {
    Some(match act {
        Act::Queue { pallets } => SetQueue {
            cell: crate::shop::given::cell(1),
            pallets: pallets.iter().map(|number| pallet(*number)).collect(),
            expected: None,
        }
        .into(),
        Act::Unload { pallet: from, counts } => {
            let clamped = clamped_on(shop, *from);
            let counts: Vec<_> = clamped
                .iter()
                .zip(counts)
                .map(|(one, five)| counted(one, *five))
                .collect();
            unload(*from, &counts, at).into()
        }
        Act::UnloadWell { pallet: from } => {
            let load = &shop.pallets.get(&pallet(*from)).unwrap().load;
            let is_cut = load
                .as_ref()
                .is_some_and(|load| matches!(load.stage, Stage::Cut { .. }));
            let five = |pieces: u32| {
                if is_cut {
                    [pieces, 0, 0, 0, 0]
                } else {
                    [0, 0, 0, 0, pieces]
                }
            };
            let clamped = clamped_on(shop, *from);
            let counts: Vec<_> = clamped.iter().map(|one| counted(one, five(one.pieces))).collect();
            unload(*from, &counts, at).into()
        }
        _ => return None,
    })
}

fn counted(one: &Clamped, [good, scrapped, to_rework, to_inspection, uncut]: [u32; 5]) -> Count {
    Count {
        job: one.job,
        operation: one.operation,
        rework: one.rework,
        good,
        scrapped,
        to_rework,
        to_inspection,
        uncut,
    }
}

/// What is where, kept the dull way: one number for each pile of pieces.
#[derive(Default)]
struct Model {
    where_is: BTreeMap<String, Position>,
    held: BTreeSet<String>,
    running: BTreeSet<String>,
    /// (job, operation, pile): pieces.
    piles: BTreeMap<(String, u16, &'static str), i64>,
    clamped: BTreeMap<String, Vec<Clamped>>,
}

impl Model {
    fn of(shop: &Shop) -> Self {
        let mut model = Self::default();
        for pallet in shop.pallets.values() {
            model.where_is.insert(pallet.id.to_string(), pallet.position);
        }
        for number in [1, 2] {
            *model.pile(job(number).to_string(), 10, "waiting") = 20;
        }
        model
    }

    fn pile(&mut self, job: String, operation: u16, pile: &'static str) -> &mut i64 {
        self.piles.entry((job, operation, pile)).or_default()
    }

    fn hears(&mut self, event: &Event) {
        match event {
            Event::PalletMoved(moved) => {
                let before = self.where_is.insert(moved.pallet.to_string(), moved.to);
                assert_eq!(before, Some(moved.from), "it comes from where it was");
                assert!(
                    !self.running.contains(&moved.pallet.to_string()),
                    "nothing moves while it is cut"
                );
            }
            Event::PalletLoaded(loaded) => {
                for one in &loaded.clamped {
                    let from = if one.rework { "to rework" } else { "waiting" };
                    *self.pile(one.job.to_string(), one.operation, from) -= i64::from(one.pieces);
                    *self.pile(one.job.to_string(), one.operation, "clamped") += i64::from(one.pieces);
                }
                let on = self.clamped.entry(loaded.pallet.to_string()).or_default();
                on.extend(loaded.clamped.iter().copied());
            }
            Event::RunStarted(started) => {
                let pallet = started.pallet.to_string();
                assert!(!self.held.contains(&pallet), "a held load was started");
                assert_eq!(
                    self.where_is.get(&pallet),
                    Some(&Position::Spindle {
                        machine: started.machine
                    })
                );
                assert!(self.running.insert(pallet));
                // Job operations are cleared on machine 1 only.
                assert!(!started.unattended || started.machine == machine(1));
            }
            Event::HoldPlaced(placed) => {
                self.held.insert(placed.pallet.to_string());
            }
            Event::HoldDisposed(accepted) => {
                // A load that was taken off is not what stands on its pallet now.
                if accepted.on_pallet {
                    self.held.remove(&accepted.pallet.to_string());
                }
                for one in accepted.pieces.iter().filter(|_| !accepted.on_pallet) {
                    let (job, pieces) = (one.job.to_string(), i64::from(one.pieces));
                    *self.pile(job.clone(), one.operation, "to inspection") -= pieces;
                    *self.pile(job.clone(), one.operation, "good") += pieces;
                    *self.pile(job, one.operation + 10, "waiting") += pieces;
                }
            }
            Event::PalletUnloaded(unloaded) => {
                let pallet = unloaded.pallet.to_string();
                let was_held = self.held.remove(&pallet);
                let mut left: i64 = self
                    .clamped
                    .remove(&pallet)
                    .unwrap_or_default()
                    .iter()
                    .map(|one| i64::from(one.pieces))
                    .sum();
                for count in &unloaded.counts {
                    assert!(!was_held || count.good == 0, "nothing of a held load is good");
                    left -= self.counts(count);
                }
                assert_eq!(left, 0, "what was clamped is what was counted");
            }
            _ => {}
        }
    }

    fn counts(&mut self, count: &Count) -> i64 {
        let (job, operation) = (count.job.to_string(), count.operation);
        let back = if count.rework { "to rework" } else { "waiting" };
        let piles = [
            (count.good, "good"),
            (count.scrapped, "scrapped"),
            (count.to_rework, "to rework"),
            (count.to_inspection, "to inspection"),
            (count.uncut, back),
        ];
        let mut all = 0;
        for (pieces, pile) in piles {
            *self.pile(job.clone(), operation, pile) += i64::from(pieces);
            all += i64::from(pieces);
        }
        *self.pile(job.clone(), operation, "clamped") -= all;
        if operation == 10 {
            *self.pile(job, 20, "waiting") += i64::from(count.good);
        }
        all
    }

    fn hears_end(&mut self, shop: &Shop) {
        let open: BTreeSet<_> = shop
            .runs
            .values()
            .filter(|run| run.is_open())
            .map(|run| run.pallet.to_string())
            .collect();
        self.running.retain(|pallet| open.contains(pallet));
    }
}

fn piles_of(shop: &Shop) -> BTreeMap<(String, u16, &'static str), i64> {
    let mut piles = BTreeMap::new();
    for number in [1, 2] {
        for (operation, pile, pieces) in piles_of_job(shop, job(number)) {
            piles.insert((job(number).to_string(), operation, pile), i64::from(pieces));
        }
    }
    piles.retain(|_, pieces| *pieces != 0);
    piles
}

fn holds_true(floor: &Floor, model: &mut Model) {
    let shop = &floor.given.shop;
    model.hears_end(shop);
    let mut places = BTreeSet::new();
    for pallet in shop.pallets.values() {
        assert!(
            places.insert((pallet.cell, pallet.position)),
            "two pallets at one place"
        );
        assert_eq!(model.where_is.get(&pallet.id.to_string()), Some(&pallet.position));
    }
    let copies: Vec<_> = shop
        .pallets
        .values()
        .filter_map(|pallet| Some(pallet.setup.as_ref()?.copy))
        .collect();
    assert_eq!(
        copies.iter().collect::<BTreeSet<_>>().len(),
        copies.len(),
        "a copy is on one pallet"
    );
    let mut expected = model.piles.clone();
    expected.retain(|_, pieces| *pieces != 0);
    // Job 2 has no operation 20.
    expected.retain(|(of, operation, _), _| !(*of == job(2).to_string() && *operation == 20));
    assert_eq!(piles_of(shop), expected);
    assert!(expected.values().all(|pieces| *pieces > 0), "{expected:?}");
    for number in [1, 2] {
        let first: i64 = expected
            .iter()
            .filter(|((of, operation, _), _)| *of == job(number).to_string() && *operation == 10)
            .map(|(_, pieces)| pieces)
            .sum();
        assert_eq!(
            first, 20,
            "released = waiting + clamped + to inspection + good + scrapped + in rework"
        );
    }
}

/// A cell has open work when its pool offers some, but for what lacks its material.
fn work_is_booked(floor: &Floor) {
    let shop = &floor.given.shop;
    for cell in shop.cells.values() {
        let pool = pool(shop, cell, floor.at());
        let offered = pool.jobs.iter();
        let offered = offered.filter(|line| line.waits_for.code != WaitCode::Material);
        let offered: BTreeSet<_> = offered.map(|line| line.job).collect();
        let booked = shop.open_work.get(&cell.id).map(|work| work.jobs.clone());
        assert_eq!(booked.unwrap_or_default(), offered);
    }
}

fn refold(events: &[(Timestamp, Event)], before: &Shop) -> Given {
    let mut given = an_open_site();
    given.shop = before.clone();
    for (at, event) in events {
        given.now = *at;
        let read = Event::decode(event.kind(), event.schema(), &event.encode().unwrap()).unwrap();
        assert_eq!(&read, event);
        given.happened(read);
    }
    given
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn random_acts_keep_the_floor_true(acts in acts(60)) {
        let mut floor = shop();
        let before = floor.given.shop.clone();
        let mut model = Model::of(&before);
        let mut happened = Vec::new();
        for act in &acts {
            let Some(command) = command(&mut floor, act) else { continue };
            let shop = floor.given.shop.clone();
            let decided = floor.given.when(command);
            prop_assert_eq!(&shop, &floor.given.shop, "deciding changes nothing");
            for event in decided.unwrap_or_default() {
                model.hears(&event);
                floor.given.happened(event.clone());
                happened.push((floor.at(), event));
            }
            holds_true(&floor, &mut model);
            work_is_booked(&floor);
        }
        prop_assert_eq!(&refold(&happened, &before).shop, &floor.given.shop);
    }
}

/// The acts of the property reach what they are about.
#[test]
fn random_acts_get_far() {
    use proptest::strategy::ValueTree;
    use proptest::test_runner::TestRunner;
    let mut runner = TestRunner::deterministic();
    let mut kinds = BTreeSet::new();
    for _ in 0..200 {
        let acts = acts(60).new_tree(&mut runner).unwrap().current();
        let mut floor = shop();
        for act in &acts {
            let Some(command) = command(&mut floor, act) else {
                continue;
            };
            for event in floor.given.when(command).unwrap_or_default() {
                kinds.insert(event.kind());
                floor.given.happened(event);
            }
        }
    }
    for kind in [
        "setup.ended",
        "run.paused",
        "run.resumed",
        "pallet.loaded",
        "pallet.moved",
        "run.finished",
        "run.aborted",
        "pallet.unloaded",
        "hold.placed",
        "hold.disposed",
    ] {
        assert!(kinds.contains(kind), "{kind} never happened: {kinds:?}");
    }
}
