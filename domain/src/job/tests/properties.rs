//! Random commands of orders and jobs against an independent model: each piece is kept by itself, with the lot it is in
//! and the place where it is; nothing is counted but at the end.

use crate::command::Command;
use crate::event::Event;
use crate::job::{AddBlanks, Back, Counts, Moved, ReportInspected, ReportStepBack, ReportStepOut, SplitJob};
use crate::order::tests::{a_shop_with_customers, day, enter, line};
use crate::order::{CancelLine, ChangeLine, CompleteLine, Priority, ReleaseOrder, Ship};
use crate::shop::given::{Given, START, job, order};
use proptest::prelude::*;
use std::collections::BTreeMap;

const OPERATIONS: [u16; 3] = [10, 20, 30];

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Where {
    Waiting,
    Clamped,
    Inspection,
    Scrapped,
    Rework,
    /// With the number of its step.
    Out(u32),
    Returned,
    /// Good at the last operation.
    Finished,
}

#[derive(Clone, Copy, Debug)]
struct Piece {
    lot: u8,
    /// Index of the operation that it is at.
    operation: usize,
    place: Where,
    shipped: bool,
}

#[derive(Clone, Debug)]
enum Act {
    Blanks {
        lot: u8,
        pieces: u32,
    },
    Clamp {
        lot: u8,
        pieces: u32,
        rework: bool,
    },
    Unload {
        lot: u8,
        good: u32,
        scrapped: u32,
        rework: u32,
        inspection: u32,
    },
    Judge {
        lot: u8,
        operation: usize,
        good: u32,
        scrapped: u32,
        rework: u32,
        returned: u32,
    },
    Out {
        lot: u8,
        operation: usize,
        pieces: u32,
        rework: bool,
    },
    Back {
        lot: u8,
        step: u32,
        good: u32,
        damaged: u32,
        missing: u32,
    },
    Split {
        lot: u8,
        quantity: u32,
        operation: usize,
        pieces: u32,
    },
    Change {
        quantity: u32,
    },
    Ship {
        lot: u8,
        pieces: u32,
    },
    Complete,
    Cancel,
}

fn act() -> impl Strategy<Value = Act> {
    let (lot, few, at) = (1u8..4, 0u32..6, 0usize..3);
    let counts = (few.clone(), 0u32..3, 0u32..3, 0u32..3);
    prop_oneof![
        1 => (lot.clone(), few.clone()).prop_map(|(lot, pieces)| Act::Blanks { lot, pieces }),
        6 => (lot.clone(), few.clone(), prop::bool::weighted(0.2))
            .prop_map(|(lot, pieces, rework)| Act::Clamp { lot, pieces, rework }),
        6 => (lot.clone(), counts.clone()).prop_map(|(lot, (good, scrapped, rework, inspection))| Act::Unload {
            lot, good, scrapped, rework, inspection
        }),
        3 => (lot.clone(), at.clone(), counts).prop_map(|(lot, operation, (good, scrapped, rework, returned))| {
            Act::Judge { lot, operation, good, scrapped, rework, returned }
        }),
        5 => (lot.clone(), at.clone(), few.clone(), prop::bool::weighted(0.2))
            .prop_map(|(lot, operation, pieces, rework)| Act::Out { lot, operation, pieces, rework }),
        5 => (lot.clone(), 1u32..6, few.clone(), 0u32..2, 0u32..2)
            .prop_map(|(lot, step, good, damaged, missing)| Act::Back { lot, step, good, damaged, missing }),
        1 => (lot.clone(), few.clone(), at, few.clone())
            .prop_map(|(lot, quantity, operation, pieces)| Act::Split { lot, quantity, operation, pieces }),
        1 => (0u32..30).prop_map(|quantity| Act::Change { quantity }),
        3 => (lot, few).prop_map(|(lot, pieces)| Act::Ship { lot, pieces }),
        1 => Just(Act::Complete),
        1 => Just(Act::Cancel),
    ]
}

struct Model {
    pieces: Vec<Piece>,
    wanted: BTreeMap<u8, u32>,
    quantity: u32,
    steps: BTreeMap<u8, u32>,
    closed: bool,
}

impl Model {
    fn new(quantity: u32) -> Self {
        let blank = Piece {
            lot: 1,
            operation: 0,
            place: Where::Waiting,
            shipped: false,
        };
        Self {
            pieces: vec![blank; quantity as usize],
            wanted: BTreeMap::from([(1, quantity)]),
            quantity,
            steps: BTreeMap::new(),
            closed: false,
        }
    }

    fn count(&self, is: impl Fn(&Piece) -> bool) -> u32 {
        u32::try_from(self.pieces.iter().filter(|piece| is(piece)).count()).unwrap()
    }

    /// Moves so many of those that are `from` (operation and place) on, one after the other.
    fn take(&mut self, lot: u8, operation: usize, from: Where, pieces: u32) -> Vec<&mut Piece> {
        let here = |piece: &&mut Piece| (piece.lot, piece.operation, piece.place) == (lot, operation, from);
        self.pieces
            .iter_mut()
            .filter(here)
            .take(pieces as usize)
            .collect()
    }

    fn put(&mut self, lot: u8, operation: usize, from: Where, pieces: u32, to: Where) {
        for piece in self.take(lot, operation, from, pieces) {
            piece.place = to;
        }
    }

    fn pass(&mut self, lot: u8, operation: usize, from: Where, pieces: u32) {
        let is_last = operation + 1 == OPERATIONS.len();
        for piece in self.take(lot, operation, from, pieces) {
            if is_last {
                piece.place = Where::Finished;
            } else {
                piece.operation += 1;
                piece.place = Where::Waiting;
            }
        }
    }

    fn at(&self, lot: u8, operation: usize, place: Where) -> u32 {
        self.count(|piece| (piece.lot, piece.operation, piece.place) == (lot, operation, place))
    }

    fn finished(&self, lot: u8) -> u32 {
        self.count(|piece| piece.lot == lot && piece.place == Where::Finished)
    }

    fn shipped(&self, lot: u8) -> u32 {
        self.count(|piece| piece.lot == lot && piece.shipped)
    }

    fn all_shipped(&self) -> u32 {
        self.count(|piece| piece.shipped)
    }

    fn is_settled(&self) -> bool {
        self.pieces
            .iter()
            .all(|piece| !matches!(piece.place, Where::Clamped | Where::Inspection | Where::Out(_)))
    }

    fn close_if_full(&mut self) {
        self.closed = self.all_shipped() >= self.quantity && self.is_settled();
    }

    /// Whether the act is possible; if so it is done.
    fn takes(&mut self, act: &Act) -> bool {
        if self.closed {
            return false;
        }
        let known = |lot: &u8| self.wanted.contains_key(lot);
        match act {
            Act::Blanks { lot, pieces } => {
                let can = known(lot) && *pieces > 0;
                let blank = Piece {
                    lot: *lot,
                    operation: 0,
                    place: Where::Waiting,
                    shipped: false,
                };
                self.pieces
                    .extend((0..if can { *pieces } else { 0 }).map(|_| blank));
                can
            }
            Act::Clamp { lot, pieces, rework } => {
                let from = if *rework { Where::Rework } else { Where::Waiting };
                let can = known(lot) && *pieces <= self.at(*lot, 0, from);
                if can {
                    self.put(*lot, 0, from, *pieces, Where::Clamped);
                }
                can
            }
            Act::Unload {
                lot,
                good,
                scrapped,
                rework,
                inspection,
            } => {
                let total = good + scrapped + rework + inspection;
                let can = known(lot) && total <= self.at(*lot, 0, Where::Clamped);
                if can {
                    self.pass(*lot, 0, Where::Clamped, *good);
                    self.put(*lot, 0, Where::Clamped, *scrapped, Where::Scrapped);
                    self.put(*lot, 0, Where::Clamped, *rework, Where::Rework);
                    self.put(*lot, 0, Where::Clamped, *inspection, Where::Inspection);
                }
                can
            }
            Act::Judge {
                lot,
                operation,
                good,
                scrapped,
                rework,
                returned,
            } => {
                let total = good + scrapped + rework + returned;
                let can = known(lot) && total > 0 && total <= self.at(*lot, *operation, Where::Inspection);
                if can {
                    self.pass(*lot, *operation, Where::Inspection, *good);
                    self.put(*lot, *operation, Where::Inspection, *scrapped, Where::Scrapped);
                    self.put(*lot, *operation, Where::Inspection, *rework, Where::Rework);
                    self.put(*lot, *operation, Where::Inspection, *returned, Where::Returned);
                }
                can
            }
            _ => self.takes_more(act),
        }
    }

    fn takes_more(&mut self, act: &Act) -> bool {
        let known = |lot: &u8| self.wanted.contains_key(lot);
        match act {
            Act::Out {
                lot,
                operation,
                pieces,
                rework,
            } => {
                let from = if *rework { Where::Rework } else { Where::Waiting };
                let can =
                    known(lot) && *operation > 0 && *pieces > 0 && *pieces <= self.at(*lot, *operation, from);
                if can {
                    let step = self.steps.entry(*lot).or_default();
                    *step += 1;
                    let to = Where::Out(*step);
                    self.put(*lot, *operation, from, *pieces, to);
                }
                can
            }
            Act::Back {
                lot,
                step,
                good,
                damaged,
                missing,
            } => {
                let out = Where::Out(*step);
                let total = good + damaged + missing;
                let still = [1, 2].map(|operation| self.at(*lot, operation, out));
                let operation = if still[0] > 0 { 1 } else { 2 };
                let can = total > 0 && total <= still[operation - 1];
                if can {
                    self.pass(*lot, operation, out, *good);
                    self.put(*lot, operation, out, *damaged, Where::Inspection);
                    self.put(*lot, operation, out, *missing, Where::Scrapped);
                }
                can
            }
            _ => self.takes_of_the_line(act),
        }
    }

    fn takes_of_the_line(&mut self, act: &Act) -> bool {
        let known = |lot: &u8| self.wanted.contains_key(lot);
        match act {
            Act::Split {
                lot,
                quantity,
                operation,
                pieces,
            } => {
                let new = u8::try_from(self.wanted.len()).unwrap() + 1;
                let can = known(lot)
                    && *quantity > 0
                    && *quantity < self.wanted[lot]
                    && self.finished(*lot) + *quantity <= self.wanted[lot]
                    && *pieces > 0
                    && *pieces <= self.at(*lot, *operation, Where::Waiting);
                if can {
                    *self.wanted.get_mut(lot).unwrap() -= quantity;
                    self.wanted.insert(new, *quantity);
                    for piece in self.take(*lot, *operation, Where::Waiting, *pieces) {
                        piece.lot = new;
                    }
                }
                can
            }
            Act::Change { quantity } => {
                let can = *quantity > 0 && *quantity >= self.all_shipped();
                if can {
                    self.quantity = *quantity;
                    self.close_if_full();
                }
                can
            }
            Act::Ship { lot, pieces } => {
                let can = known(lot)
                    && *pieces > 0
                    && self.shipped(*lot) + pieces <= self.finished(*lot)
                    && self.all_shipped() + pieces <= self.quantity;
                if can {
                    let ready = self.pieces.iter_mut().filter(|piece| {
                        piece.lot == *lot && piece.place == Where::Finished && !piece.shipped
                    });
                    for piece in ready.take(*pieces as usize) {
                        piece.shipped = true;
                    }
                    self.close_if_full();
                }
                can
            }
            Act::Complete => {
                self.close_if_full();
                self.closed
            }
            Act::Cancel => {
                self.closed = self.all_shipped() == 0 && self.is_settled();
                self.closed
            }
            _ => false,
        }
    }
}

fn command(act: &Act, lots: usize) -> Option<Command> {
    let at = START;
    Some(match *act {
        Act::Blanks { lot, pieces } => AddBlanks {
            job: job(lot),
            pieces,
            certificate: None,
        }
        .into(),
        Act::Judge {
            lot,
            operation,
            good,
            scrapped,
            rework,
            returned,
        } => ReportInspected {
            job: job(lot),
            operation: OPERATIONS[operation],
            counts: Counts {
                good,
                scrapped,
                rework,
                returned,
                inspection: 0,
            },
            at,
        }
        .into(),
        Act::Out { .. } | Act::Back { .. } => of_a_step(act),
        Act::Split {
            lot,
            quantity,
            operation,
            pieces,
        } => SplitJob {
            job: job(lot),
            into: job(u8::try_from(lots).unwrap() + 1),
            quantity,
            moved: vec![Moved {
                operation: OPERATIONS[operation],
                pieces,
            }],
        }
        .into(),
        Act::Change { .. } | Act::Ship { .. } | Act::Complete | Act::Cancel => return Some(of_the_line(act)),
        Act::Clamp { .. } | Act::Unload { .. } => return None,
    })
}

fn of_a_step(act: &Act) -> Command {
    let at = START;
    match *act {
        Act::Out {
            lot,
            operation,
            pieces,
            rework,
        } => ReportStepOut {
            job: job(lot),
            operation: OPERATIONS[operation],
            pieces,
            from_rework: rework,
            at,
            due: None,
        }
        .into(),
        Act::Back {
            lot,
            step,
            good,
            damaged,
            missing,
        } => ReportStepBack {
            job: job(lot),
            step,
            back: Back {
                good,
                damaged,
                missing,
            },
            at,
        }
        .into(),
        _ => unreachable!("{act:?}"),
    }
}

fn of_the_line(act: &Act) -> Command {
    let (at, line) = (START, 1);
    match *act {
        Act::Change { quantity } => ChangeLine {
            order: order(1),
            line,
            quantity,
            due: day("2026-12-18"),
            priority: Priority::Normal,
            expected: None,
        }
        .into(),
        Act::Ship { lot, pieces } => Ship {
            order: order(1),
            line,
            job: Some(job(lot)),
            pieces,
            at,
        }
        .into(),
        Act::Complete => CompleteLine {
            order: order(1),
            line,
        }
        .into(),
        _ => CancelLine {
            order: order(1),
            line,
        }
        .into(),
    }
}

/// The floor's two acts, by the functions that its events call.
fn floor(given: &mut Given, act: &Act) -> bool {
    match *act {
        Act::Clamp { lot, pieces, rework } => {
            let found = given.shop.jobs.get(&job(lot));
            let can = found.is_some_and(|job| pieces <= job.at(10).unwrap().available(rework));
            if can {
                given
                    .shop
                    .jobs
                    .update(&job(lot), |job| job.clamp(10, pieces, rework));
            }
            can
        }
        Act::Unload {
            lot,
            good,
            scrapped,
            rework,
            inspection,
        } => {
            let counts = Counts {
                good,
                scrapped,
                rework,
                inspection,
                returned: 0,
            };
            let found = given.shop.jobs.get(&job(lot));
            let can = found.is_some_and(|job| counts.total() <= u64::from(job.at(10).unwrap().clamped));
            if can {
                given.shop.jobs.update(&job(lot), |job| job.count(10, counts));
            }
            can
        }
        _ => false,
    }
}

fn does(given: &mut Given, act: &Act) -> bool {
    let lots = given
        .shop
        .orders
        .get(&order(1))
        .map_or(0, |order| order.lines[0].jobs().len());
    let Some(command) = command(act, lots) else {
        return floor(given, act);
    };
    let decided = given.when(command);
    let accepted = decided.is_ok();
    for event in decided.unwrap_or_default() {
        let read = Event::decode(event.kind(), event.schema(), &event.encode().unwrap()).unwrap();
        assert_eq!(read, event);
        given.happened(read);
    }
    accepted
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    #[test]
    fn every_piece_is_where_the_counts_say(acts in prop::collection::vec(act(), 1..60)) {
        let mut given = a_shop_with_customers();
        given.does(enter(1, vec![line(2, 20)])).does(ReleaseOrder {
            order: order(1),
            lines: Vec::new(),
            jobs: vec![job(1)],
        });
        let mut model = Model::new(20);
        for act in &acts {
            let expected = model.takes(act);
            prop_assert_eq!(does(&mut given, act), expected, "{:?}", act);
            prop_assert_eq!(given.shop.orders.is_empty(), model.closed, "{:?}", act);
            if model.closed {
                prop_assert!(given.shop.jobs.is_empty());
                continue;
            }
            let made = given.shop.orders.get(&order(1)).unwrap().lines[0].clone();
            prop_assert_eq!((made.quantity, made.shipped()), (model.quantity, model.all_shipped()));
            let mut wanted = 0;
            for lot in model.wanted.keys() {
                let found = given.shop.jobs.get(&job(*lot)).unwrap();
                wanted += found.quantity;
                prop_assert_eq!(found.released, model.count(|piece| piece.lot == *lot));
                prop_assert_eq!(found.made(), model.finished(*lot));
                for (index, at) in found.operations.iter().enumerate() {
                    let is = |place: Where| model.at(*lot, index, place);
                    let beyond = model.count(|piece| {
                        piece.lot == *lot && (piece.operation > index || (piece.operation == index && piece.place == Where::Finished))
                    });
                    let came = model.count(|piece| piece.lot == *lot && piece.operation >= index);
                    let out = model.count(|piece| {
                        piece.lot == *lot && piece.operation == index && matches!(piece.place, Where::Out(_))
                    });
                    prop_assert_eq!(at.came, came);
                    prop_assert_eq!(at.waiting(), is(Where::Waiting));
                    prop_assert_eq!(at.good, beyond);
                    prop_assert_eq!(
                        (at.clamped, at.inspection, at.scrapped, at.rework, at.out, at.returned),
                        (is(Where::Clamped), is(Where::Inspection), is(Where::Scrapped), is(Where::Rework), out, is(Where::Returned))
                    );
                    // Invariant 3, in whole numbers that no saturation has bent.
                    let all = [at.waiting(), at.clamped, at.inspection, at.good, at.scrapped, at.rework, at.out, at.returned];
                    prop_assert_eq!(all.iter().map(|count| u64::from(*count)).sum::<u64>(), u64::from(at.came));
                }
            }
            prop_assert_eq!(wanted, model.quantity);
            // How the lots share a change is the shop's rule; the model follows it.
            for (lot, wanted) in &mut model.wanted {
                *wanted = given.shop.jobs.get(&job(*lot)).unwrap().quantity;
            }
        }
        let snapshot: crate::shop::Shop = serde_json::from_slice(&serde_json::to_vec(&given.shop).unwrap()).unwrap();
        prop_assert_eq!(snapshot, given.shop);
    }
}
