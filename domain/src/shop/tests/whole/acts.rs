//! What people and offices do, at random, and as commands.

use super::model::{How, Load, Model, Place, Stage};
use super::world::{self, Spot, number};
use crate::command::Command;
use crate::fixture::AddFixtureCopy;
use crate::floor::tests::small_shop::note;
use crate::floor::*;
use crate::ids::{HoldId, LoadId, RunId, SetupId};
use crate::inspection::{Decided, DisposeHold, ReverseInspection};
use crate::job::{AddBlanks, Back, Counts, Moved, ReportInspected, ReportStepBack, ReportStepOut, SplitJob};
use crate::load::{Clamped, Disposition, HoldKind};
use crate::machine::{DownReason, SetMachineDown, SetMachineUp};
use crate::order::{
    Arrived, CancelLine, ChangeLine, CompleteLine, EnterOrder, Material, NewLine, Priority, ReceiveMaterial,
    ReleaseOrder, Ship,
};
use crate::run::{AbortReason, PauseReason};
use crate::shop::given::*;
use crate::time::Timestamp;
use proptest::prelude::*;
use std::collections::BTreeSet;
use uuid::Uuid;

/// An entry of a load: job, step, pieces.
pub type Entry = (u8, usize, u32);

/// Of jobs and orders, 0 is the newest one.
#[derive(Clone, Debug)]
pub enum Act {
    Route {
        part: u8,
        checked: bool,
    },
    AddCopy {
        fixture: u8,
    },
    Down {
        machine: u8,
    },
    Up {
        machine: u8,
    },
    Enter {
        lines: Vec<(u8, u32)>,
        customer: bool,
        arrived: bool,
    },
    Material {
        order: u8,
        line: u32,
    },
    Release {
        order: u8,
    },
    Change {
        order: u8,
        line: u32,
        quantity: u32,
    },
    Ship {
        order: u8,
        line: u32,
        job: u8,
        pieces: u32,
    },
    Complete {
        order: u8,
        line: u32,
    },
    Cancel {
        order: u8,
        line: u32,
    },
    Split {
        job: u8,
        quantity: u32,
        step: usize,
        pieces: u32,
    },
    Blanks {
        job: u8,
        pieces: u32,
    },
    Out {
        job: u8,
        step: usize,
        pieces: u32,
        rework: bool,
    },
    Back {
        job: u8,
        out: u32,
        good: u32,
        damaged: u32,
        missing: u32,
    },
    Inspect {
        job: u8,
        step: usize,
        counts: [u32; 4],
    },
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
        entries: Vec<Entry>,
        rework: bool,
    },
    Move {
        pallet: u8,
        to: Spot,
        exchange: bool,
    },
    Queue {
        cell: u8,
        pallets: Vec<u8>,
    },
    Start {
        machine: u8,
    },
    Pause {
        machine: u8,
    },
    Resume {
        machine: u8,
    },
    Finish {
        machine: u8,
    },
    Abort {
        machine: u8,
    },
    /// For each entry: good, scrapped, to rework, to inspection, uncut.
    Unload {
        pallet: u8,
        counts: Vec<[u32; 5]>,
    },
    /// All good but for one piece of each entry, of which this became: see [`Model::well`].
    UnloadWell {
        pallet: u8,
        last: usize,
    },
    Hold {
        pallet: u8,
    },
    Accept {
        nth: usize,
    },
    /// So many pieces of the first operation that waits for a decision; 0: all of all.
    Dispose {
        nth: usize,
        how: usize,
        pieces: u32,
    },
    /// The nth result of an inspector, from the last one back.
    Reverse {
        nth: usize,
    },
    Wait {
        seconds: i64,
    },
    /// What can be done of this kind, by the model: the nth of it, with so many pieces at most.
    Aimed {
        at: Aim,
        nth: usize,
        pieces: u32,
    },
}

#[derive(Clone, Copy, Debug)]
pub enum Aim {
    Mount {
        pallet: u8,
    },
    Load {
        pallet: u8,
        rework: bool,
    },
    Out {
        rework: bool,
    },
    Back,
    Inspect,
    Ship,
    Split,
    /// A line of which pieces have moved.
    Close,
}

fn spot() -> impl Strategy<Value = Spot> {
    prop_oneof![
        (1u32..4).prop_map(Spot::Station),
        (1u32..4).prop_map(Spot::Stand),
        machine_number().prop_map(Spot::Spindle),
    ]
}

fn machine_number() -> impl Strategy<Value = u8> + Clone {
    prop::sample::select(vec![1u8, 2, 4])
}

fn job_number() -> impl Strategy<Value = u8> + Clone {
    0u8..6
}

fn entry() -> impl Strategy<Value = Entry> {
    (job_number(), 0usize..2, 0u32..5)
}

fn of_the_office() -> impl Strategy<Value = Act> {
    let order = 0u8..4;
    let line = 1u32..3;
    prop_oneof![
        1 => (1u8..4, any::<bool>()).prop_map(|(part, checked)| Act::Route { part, checked }),
        1 => (1u8..3).prop_map(|fixture| Act::AddCopy { fixture }),
        1 => (order.clone(), line.clone()).prop_map(|(order, line)| Act::Material { order, line }),
        1 => order.clone().prop_map(|order| Act::Release { order }),
        2 => (order.clone(), line.clone(), 0u32..12)
            .prop_map(|(order, line, quantity)| Act::Change { order, line, quantity }),
        4 => (order.clone(), line.clone(), job_number(), 0u32..5)
            .prop_map(|(order, line, job, pieces)| Act::Ship { order, line, job, pieces }),
        2 => (order.clone(), line.clone()).prop_map(|(order, line)| Act::Complete { order, line }),
        1 => (order, line).prop_map(|(order, line)| Act::Cancel { order, line }),
        2 => (job_number(), 0u32..6, 0usize..2, 0u32..5)
            .prop_map(|(job, quantity, step, pieces)| Act::Split { job, quantity, step, pieces }),
        1 => (job_number(), 0u32..4).prop_map(|(job, pieces)| Act::Blanks { job, pieces }),
    ]
}

fn of_steps() -> impl Strategy<Value = Act> {
    prop_oneof![
        3 => (job_number(), 0usize..3, 0u32..5, prop::bool::weighted(0.2))
            .prop_map(|(job, step, pieces, rework)| Act::Out { job, step, pieces, rework }),
        3 => (job_number(), 1u32..4, 0u32..5, 0u32..2, 0u32..2)
            .prop_map(|(job, out, good, damaged, missing)| Act::Back { job, out, good, damaged, missing }),
        2 => (job_number(), 0usize..3, prop::array::uniform4(0u32..3))
            .prop_map(|(job, step, counts)| Act::Inspect { job, step, counts }),
    ]
}

fn of_the_floor() -> impl Strategy<Value = Act> {
    let pallet = 1u8..6;
    prop_oneof![
        1 => (pallet.clone(), 1u8..3).prop_map(|(pallet, fixture)| Act::Mount { pallet, fixture }),
        1 => pallet.clone().prop_map(|pallet| Act::FinishSetup { pallet }),
        1 => pallet.clone().prop_map(|pallet| Act::Unmount { pallet }),
        3 => (pallet.clone(), prop::collection::vec(entry(), 1..3), prop::bool::weighted(0.2))
            .prop_map(|(pallet, entries, rework)| Act::Load { pallet, entries, rework }),
        4 => (pallet.clone(), spot(), prop::bool::weighted(0.4))
            .prop_map(|(pallet, to, exchange)| Act::Move { pallet, to, exchange }),
        1 => (1u8..3, prop::collection::vec(1u8..6, 0..3)).prop_map(|(cell, pallets)| Act::Queue { cell, pallets }),
        1 => (pallet.clone(), prop::collection::vec(prop::array::uniform5(0u32..3), 1..3))
            .prop_map(|(pallet, counts)| Act::Unload { pallet, counts }),
        2 => (pallet.clone(), 0usize..5).prop_map(|(pallet, last)| Act::UnloadWell { pallet, last }),
        1 => pallet.prop_map(|pallet| Act::Hold { pallet }),
        2 => (0usize..3).prop_map(|nth| Act::Accept { nth }),
        4 => (0usize..3, 0usize..5, 0u32..4).prop_map(|(nth, how, pieces)| Act::Dispose { nth, how, pieces }),
        2 => (0usize..4).prop_map(|nth| Act::Reverse { nth }),
        2 => (1i64..40_000).prop_map(|seconds| Act::Wait { seconds }),
    ]
}

fn of_machines() -> impl Strategy<Value = Act> {
    let machine = machine_number();
    prop_oneof![
        1 => machine.clone().prop_map(|machine| Act::Down { machine }),
        4 => machine.clone().prop_map(|machine| Act::Up { machine }),
        4 => machine.clone().prop_map(|machine| Act::Start { machine }),
        1 => machine.clone().prop_map(|machine| Act::Pause { machine }),
        2 => machine.clone().prop_map(|machine| Act::Resume { machine }),
        3 => machine.clone().prop_map(|machine| Act::Finish { machine }),
        1 => machine.prop_map(|machine| Act::Abort { machine }),
    ]
}

/// An order until it is released.
fn an_order() -> impl Strategy<Value = Vec<Act>> {
    let lines = prop::collection::vec((1u8..4, 3u32..12), 1..3);
    (lines, any::<bool>(), prop::bool::weighted(0.85)).prop_map(|(lines, customer, arrived)| {
        vec![
            Act::Enter {
                lines,
                customer,
                arrived,
            },
            Act::Release { order: 0 },
        ]
    })
}

/// A pallet from empty to the spindle, and what is done there.
fn a_passage() -> impl Strategy<Value = Vec<Act>> {
    let how = (
        0u8..5,
        prop::bool::weighted(0.1),
        (1i64..900, 0usize..6),
        0usize..5,
        (prop::bool::weighted(0.7), 0usize..12, 0usize..5, 0u32..3),
    );
    (0usize..6, 0usize..4, 1u32..5, how).prop_map(|(which, nth, pieces, how)| {
        let (pallet, machine) = [(1, 1), (2, 1), (3, 2), (1, 2), (4, 4), (5, 4)][which];
        let (queue, rework, (seconds, stop), last, looked_at) = how;
        let cell = if pallet < 4 { 1 } else { 2 };
        let go = |to| Act::Move {
            pallet,
            to,
            exchange: true,
        };
        let aimed = |at| Act::Aimed { at, nth, pieces };
        let mut acts = vec![go(Spot::Station(1)), aimed(Aim::Mount { pallet })];
        acts.extend([Act::FinishSetup { pallet }, aimed(Aim::Load { pallet, rework })]);
        if queue == 0 {
            // It waits on a stand.
            acts.push(go(Spot::Stand(1)));
            return acts;
        }
        acts.push(go(Spot::Spindle(machine)));
        let other = if cell == 1 { pallet % 3 + 1 } else { 9 - pallet };
        let queued = [vec![pallet], vec![other, pallet]];
        acts.extend(queued.get(usize::from(queue) - 1).map(|pallets| Act::Queue {
            cell,
            pallets: pallets.clone(),
        }));
        let wait = Act::Wait { seconds };
        let dispose = |how, pieces| Act::Dispose { nth: 0, how, pieces };
        let (_, early, how, pieces_of) = looked_at;
        if early == 0 {
            // Doubted before it is cut, and while it is.
            acts.extend([Act::Hold { pallet }, dispose(how, pieces_of), dispose(0, 0)]);
        }
        acts.extend([Act::Start { machine }, wait.clone()]);
        if early == 1 {
            acts.extend([Act::Hold { pallet }, dispose(how, pieces_of)]);
        }
        acts.extend(match stop {
            0 => vec![Act::Pause { machine }, wait, Act::Resume { machine }],
            1 => vec![Act::Abort { machine }],
            _ => Vec::new(),
        });
        acts.push(Act::Finish { machine });
        let unload = |last| Act::UnloadWell { pallet, last };
        match looked_at {
            (true, 0..6, ..) => acts.push(Act::Accept { nth: 0 }),
            (true, what, how, pieces) => {
                acts.extend([Act::Hold { pallet }, dispose(how, pieces)]);
                acts.extend((what == 6).then_some(Act::Reverse { nth: 0 }));
                acts.extend((what == 7).then_some(dispose(how, 0)));
                acts.extend([go(Spot::Station(1)), unload(last), unload(0)]);
                acts.extend((what > 8).then_some(Act::Reverse { nth: 0 }));
                acts.extend((what > 9).then_some(Act::Reverse { nth: 0 }));
            }
            (false, ..) => {}
        }
        acts.extend([go(Spot::Station(1)), unload(last)]);
        acts
    })
}

/// An order for a few pieces that are made by hand, from beginning to end.
fn a_small_order() -> impl Strategy<Value = Vec<Act>> {
    (1u32..4, 0u32..2).prop_map(|(pieces, kept)| {
        let (order, line, job) = (0, 1, 0);
        vec![
            Act::Enter {
                lines: vec![(3, pieces)],
                customer: false,
                arrived: true,
            },
            Act::Release { order },
            Act::Out {
                job,
                step: 0,
                pieces,
                rework: false,
            },
            Act::Back {
                job,
                out: 1,
                good: pieces - kept,
                damaged: kept,
                missing: 0,
            },
            Act::Ship {
                order,
                line,
                job,
                pieces: pieces - kept,
            },
        ]
    })
}

/// Whatever the model can do of it.
fn aimed() -> impl Strategy<Value = Act> {
    let aim = prop_oneof![
        1 => (1u8..6).prop_map(|pallet| Aim::Mount { pallet }),
        1 => (1u8..6, any::<bool>()).prop_map(|(pallet, rework)| Aim::Load { pallet, rework }),
        2 => prop::bool::weighted(0.3).prop_map(|rework| Aim::Out { rework }),
        4 => Just(Aim::Back),
        3 => Just(Aim::Inspect),
        5 => Just(Aim::Ship),
        1 => Just(Aim::Split),
        2 => Just(Aim::Close),
    ];
    (aim, 0usize..4, 1u32..6).prop_map(|(at, nth, pieces)| Act::Aimed { at, nth, pieces })
}

/// Single acts, and whole passages whose steps each may be refused: by single acts alone hardly anything would be cut.
pub fn acts() -> impl Strategy<Value = Vec<Act>> {
    let one = prop_oneof![
        2 => of_the_office(),
        1 => of_steps(),
        3 => of_the_floor(),
        2 => of_machines(),
    ];
    let some = prop_oneof![
        4 => one.prop_map(|act| vec![act]),
        1 => an_order(),
        1 => a_small_order(),
        5 => a_passage(),
        4 => aimed().prop_map(|act| vec![act]),
    ];
    let later = prop::collection::vec(some, 10..40).prop_map(|some| some.concat());
    (an_order(), an_order(), later).prop_map(|(first, second, later)| [first, second, later].concat())
}

macro_rules! numbered {
    ($($name:ident: $id:ident = $base:literal;)+) => {$(
        pub fn $name(number: u32) -> $id {
            $id(Uuid::from_u128($base + u128::from(number)))
        }
    )+};
}

numbered! {
    load: LoadId = 0x10ad_0000;
    run: RunId = 0x4074_0000;
    hold: HoldId = 0x401d_0000;
    setup: SetupId = 0x5e70_0000;
}

/// With ids that the model knows; what is not there gets number 0, which names nothing.
pub fn command(model: &Model, act: &Act, at: Timestamp) -> Option<Command> {
    of_office(model, act, at)
        .or_else(|| of_lot(model, act))
        .or_else(|| of_step(model, act, at))
        .or_else(|| of_setup(model, act, at))
        .or_else(|| of_pallet(model, act, at))
        .or_else(|| of_machine(model, act, at))
}

fn of_office(model: &Model, act: &Act, at: Timestamp) -> Option<Command> {
    let named = |number: u8| order(model.order_of(number));
    Some(match *act {
        Act::Route { part, checked } => world::set_routing(part, checked).into(),
        Act::AddCopy { fixture: of } => {
            let number = model.next_copy();
            AddFixtureCopy {
                fixture: fixture(of),
                copy: fixture_copy(number, &format!("F-{number}")),
            }
            .into()
        }
        Act::Enter {
            ref lines,
            customer,
            arrived,
        } => enter(model, lines, customer, arrived, at).into(),
        Act::Material { order, line } => ReceiveMaterial {
            order: named(order),
            line,
            at,
            certificate: None,
        }
        .into(),
        Act::Release { order } => ReleaseOrder {
            order: named(order),
            lines: Vec::new(),
            jobs: [1, 2].map(|next| job(model.newest_job() + next)).to_vec(),
        }
        .into(),
        Act::Change {
            order,
            line,
            quantity,
        } => ChangeLine {
            order: named(order),
            line,
            quantity,
            due: "2026-12-18".parse().unwrap(),
            priority: Priority::Normal,
            expected: None,
        }
        .into(),
        Act::Ship {
            order,
            line,
            job: of,
            pieces,
        } => Ship {
            order: named(order),
            line,
            job: Some(job(model.job_of(of))),
            pieces,
            at,
        }
        .into(),
        Act::Complete { order, line } => CompleteLine {
            order: named(order),
            line,
        }
        .into(),
        Act::Cancel { order, line } => CancelLine {
            order: named(order),
            line,
        }
        .into(),
        _ => return None,
    })
}

fn enter(
    model: &Model,
    lines: &[(u8, u32)],
    from_customer: bool,
    arrived: bool,
    at: Timestamp,
) -> EnterOrder {
    let number = model.newest_order() + 1;
    let arrived = arrived.then_some(Arrived {
        at,
        certificate: None,
    });
    let line = |(of, quantity): &(u8, u32)| NewLine {
        number: None,
        part: part(*of),
        revision: code("A"),
        quantity: *quantity,
        due: "2026-12-18".parse().unwrap(),
        priority: Priority::Normal,
        material: Material {
            expected: None,
            arrived: arrived.clone(),
        },
        quoted: Vec::new(),
    };
    EnterOrder {
        customer_approval_needed: false,
        order: order(number),
        code: code(&format!("SO-{number}")),
        customer: from_customer.then(|| customer(1)),
        reference: None,
        lines: lines.iter().map(line).collect(),
    }
}

fn of_lot(model: &Model, act: &Act) -> Option<Command> {
    let named = |number: u8| job(model.job_of(number));
    Some(match *act {
        Act::Split {
            job: of,
            quantity,
            step,
            pieces,
        } => SplitJob {
            job: named(of),
            into: job(model.newest_job() + 1),
            quantity,
            moved: vec![Moved {
                operation: number(step),
                pieces,
            }],
        }
        .into(),
        Act::Blanks { job, pieces } => AddBlanks {
            job: named(job),
            pieces,
            certificate: None,
        }
        .into(),
        _ => return None,
    })
}

fn of_step(model: &Model, act: &Act, at: Timestamp) -> Option<Command> {
    let named = |number: u8| job(model.job_of(number));
    Some(match *act {
        Act::Out {
            job,
            step,
            pieces,
            rework,
        } => ReportStepOut {
            job: named(job),
            operation: number(step),
            pieces,
            from_rework: rework,
            at,
            due: None,
        }
        .into(),
        Act::Back {
            job,
            out,
            good,
            damaged,
            missing,
        } => ReportStepBack {
            job: named(job),
            step: out,
            back: Back {
                good,
                damaged,
                missing,
            },
            at,
        }
        .into(),
        Act::Inspect {
            job,
            step,
            counts: [good, scrapped, rework, returned],
        } => ReportInspected {
            job: named(job),
            operation: number(step),
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
        _ => return None,
    })
}

fn of_setup(model: &Model, act: &Act, at: Timestamp) -> Option<Command> {
    Some(match *act {
        Act::Mount {
            pallet: on,
            fixture: of,
        } => MountFixture {
            pallet: pallet(on),
            setup: setup(model.fresh()),
            fixture: fixture(of),
            copy: None,
            at,
        }
        .into(),
        Act::FinishSetup { pallet: on } => FinishSetup {
            pallet: pallet(on),
            at,
        }
        .into(),
        Act::Unmount { pallet: on } => UnmountFixture {
            pallet: pallet(on),
            at,
        }
        .into(),
        _ => return None,
    })
}

fn of_pallet(model: &Model, act: &Act, at: Timestamp) -> Option<Command> {
    Some(match *act {
        Act::Load {
            pallet: on,
            ref entries,
            rework,
        } => LoadPallet {
            pallet: pallet(on),
            load: load(model.fresh()),
            clamped: entries
                .iter()
                .map(|entry| clamped(model, *entry, rework))
                .collect(),
            at,
            overrides: Vec::new(),
        }
        .into(),
        Act::Move {
            pallet: what,
            to,
            exchange,
        } => MovePallet {
            pallet: pallet(what),
            to: to.position(),
            exchange,
            at,
        }
        .into(),
        Act::Queue {
            cell: of,
            ref pallets,
        } => SetQueue {
            cell: cell(of),
            pallets: pallets.iter().map(|number| pallet(*number)).collect(),
            expected: None,
        }
        .into(),
        Act::Unload {
            pallet: from,
            ref counts,
        } => unload(model, from, counts, at).into(),
        Act::UnloadWell { pallet: from, last } => unload(model, from, &model.well(from, last), at).into(),
        Act::Hold { pallet: on } => PlaceHold {
            kind: HoldKind::Suspect,
            pallet: pallet(on),
            hold: hold(model.fresh()),
            at,
            note: None,
        }
        .into(),
        Act::Accept { nth } => dispose(model, nth, How::Accept, 0, at).into(),
        Act::Dispose { nth, how, pieces } => dispose(model, nth, How::ALL[how], pieces, at).into(),
        Act::Reverse { nth } => {
            let said = model.said(nth).map(|(_, said)| said);
            ReverseInspection {
                job: job(said.map_or(0, |said| said.of.first().map_or(0, |of| of.0))),
                entry: Some(said.map_or(0, |said| said.seq)),
                note: Some(note("It was the other one")),
                at,
            }
            .into()
        }
        _ => return None,
    })
}

fn dispose(model: &Model, nth: usize, how: How, pieces: u32, at: Timestamp) -> DisposeHold {
    let no = model.hold_of(nth);
    let first = model.undecided(no).first().copied().filter(|_| pieces > 0);
    let decided = first.map(|(of, step, _)| Decided {
        job: job(of),
        operation: number(step),
        pieces,
        nests: Vec::new(),
    });
    let disposition = match how {
        How::Accept => Disposition::Accept,
        How::Rework => Disposition::Rework,
        How::Scrap => Disposition::Scrap,
        How::UseAsIs => Disposition::UseAsIs,
        How::Return => Disposition::Return,
    };
    DisposeHold {
        hold: hold(no),
        disposition,
        pieces: decided.into_iter().collect(),
        revision: None,
        reference: None,
        at,
        note: Some(note("As measured")),
    }
}

fn clamped(model: &Model, (of, step, pieces): Entry, rework: bool) -> Clamped {
    Clamped {
        job: job(model.job_of(of)),
        operation: number(step),
        pieces,
        rework,
    }
}

fn unload(model: &Model, from: u8, counts: &[[u32; 5]], at: Timestamp) -> UnloadPallet {
    let entries = model.load_on(from).map_or(&[][..], |load: &Load| &load.entries);
    let count = |(entry, five): (&super::model::Entry, &[u32; 5])| Count {
        job: job(entry.job),
        operation: number(entry.step),
        rework: entry.rework,
        good: five[0],
        scrapped: five[1],
        to_rework: five[2],
        to_inspection: five[3],
        uncut: five[4],
    };
    UnloadPallet {
        pallet: pallet(from),
        counts: entries.iter().zip(counts).map(count).collect(),
        at,
        note: None,
    }
}

fn of_machine(model: &Model, act: &Act, at: Timestamp) -> Option<Command> {
    let open = |machine: u8| run(model.run_on(machine));
    Some(match *act {
        Act::Down { machine: on } => SetMachineDown {
            machine: machine(on),
            at,
            reason: DownReason::Tooling,
            note: None,
        }
        .into(),
        Act::Up { machine: on } => SetMachineUp {
            machine: machine(on),
            at,
        }
        .into(),
        Act::Start { machine: on } => StartRun {
            run: run(model.fresh()),
            machine: machine(on),
            pallet: None,
            purpose: None,
            at,
            overrides: Vec::new(),
        }
        .into(),
        Act::Pause { machine } => PauseRun {
            run: open(machine),
            at,
            reason: PauseReason::Tool,
        }
        .into(),
        Act::Resume { machine } => ResumeRun {
            run: open(machine),
            at,
        }
        .into(),
        Act::Finish { machine } => FinishRun {
            run: open(machine),
            at,
            hold: hold(model.fresh()),
        }
        .into(),
        Act::Abort { machine } => AbortRun {
            run: open(machine),
            at,
            reason: AbortReason::Other,
            note: None,
        }
        .into(),
        _ => return None,
    })
}

impl Model {
    /// Counts that close: all good but for the last piece of each entry, which is good, scrapped, to rework or to
    /// inspection; from 4 on all goes to the inspector. What was not cut comes off uncut.
    pub fn well(&self, from: u8, last: usize) -> Vec<[u32; 5]> {
        let Some(load) = self.load_on(from) else {
            return Vec::new();
        };
        let is_cut = matches!(load.stage, Stage::Cut(_));
        let five = |entry: &super::model::Entry| {
            let pieces = entry.pieces;
            let mut five = [0; 5];
            // With one of them otherwise nobody asks what the inspector said.
            if is_cut && !load.decided.is_empty() && last != 1 {
                return load.as_decided(entry);
            }
            match last {
                _ if !is_cut => five[4] = pieces,
                4.. => five[3] = pieces,
                _ => {
                    five[0] = pieces - 1;
                    five[last] += 1;
                }
            }
            five
        };
        load.entries.iter().map(five).collect()
    }
}

/// The act that an aimed one comes to; where nothing of the kind can be done, nothing.
impl Model {
    pub fn aim(&self, act: &Act) -> Option<Act> {
        let Act::Aimed { at, nth, pieces } = *act else {
            return Some(act.clone());
        };
        let of = |place: fn(Place) -> bool| {
            let piles: BTreeSet<_> = self
                .pieces
                .iter()
                .filter(|piece| place(piece.place) && self.jobs[&piece.job].is_open && !piece.shipped)
                .map(|piece| (piece.job, piece.step, piece.place))
                .collect();
            piles.into_iter().collect::<Vec<_>>()
        };
        let one = |piles: Vec<(u8, usize, Place)>| piles.get(nth % piles.len().max(1)).copied();
        let waits: fn(Place) -> bool = |place| place == Place::Waiting;
        let in_rework: fn(Place) -> bool = |place| place == Place::Rework;
        let piles = of(match at {
            Aim::Load { rework: true, .. } | Aim::Out { rework: true } => in_rework,
            Aim::Back => |place| matches!(place, Place::Out(_)),
            Aim::Inspect => |place| place == Place::Inspection,
            Aim::Ship => |place| place == Place::Finished,
            Aim::Close => |place| !matches!(place, Place::Waiting | Place::On { .. }),
            _ => waits,
        });
        let step = |pile: &(u8, usize, Place)| self.jobs[&pile.0].steps[pile.1].clone();
        let few = |pile: (u8, usize, Place)| pieces.min(self.at(pile.0, pile.1, pile.2));
        Some(match at {
            Aim::Mount { pallet } => Act::Mount {
                pallet,
                fixture: u8::try_from(nth % 2).unwrap() + 1,
            },
            Aim::Load { pallet, rework } => {
                let on = &self.pallets[&pallet];
                let (_, fixture, ..) = on.setup?;
                let fits = |pile: &(u8, usize, Place)| {
                    step(pile).place(on.cell).is_some() && step(pile).fixtures.contains(&fixture)
                };
                let pile = one(piles.into_iter().filter(fits).collect())?;
                let entries = vec![(pile.0, pile.1, few(pile))];
                Act::Load {
                    pallet,
                    entries,
                    rework,
                }
            }
            Aim::Out { rework } => {
                let by_hand = |pile: &(u8, usize, Place)| step(pile).places.is_empty();
                let pile = one(piles.into_iter().filter(by_hand).collect())?;
                let (job, step) = (pile.0, pile.1);
                Act::Out {
                    job,
                    step,
                    pieces: few(pile),
                    rework,
                }
            }
            _ => self.aim_at(at, one(piles)?, pieces),
        })
    }

    fn aim_at(&self, at: Aim, pile: (u8, usize, Place), pieces: u32) -> Act {
        let (job, step, place) = pile;
        let few = pieces.min(self.at(job, step, place));
        match (at, place) {
            (Aim::Back, Place::Out(out)) => {
                let damaged = few / 3;
                Act::Back {
                    job,
                    out,
                    good: few - damaged,
                    damaged,
                    missing: u32::from(pieces > few),
                }
            }
            (Aim::Inspect, _) => Act::Inspect {
                job,
                step,
                counts: [few - few / 2, 0, few / 2, 0],
            },
            (Aim::Ship, _) => Act::Ship {
                order: self.jobs[&job].order,
                line: self.jobs[&job].line,
                job,
                pieces: few,
            },
            (Aim::Close, _) => self.aim_at_line(job, pieces),
            _ => Act::Split {
                job,
                quantity: pieces,
                step,
                pieces: few,
            },
        }
    }

    fn aim_at_line(&self, job: u8, how: u32) -> Act {
        let (order, line) = (self.jobs[&job].order, self.jobs[&job].line);
        match how {
            1 | 2 => Act::Cancel { order, line },
            3 => Act::Complete { order, line },
            _ => {
                let found = &self.orders[&order].lines[usize::try_from(line).unwrap() - 1];
                Act::Change {
                    order,
                    line,
                    quantity: self.shipped(found).max(1),
                }
            }
        }
    }
}
