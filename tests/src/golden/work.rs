//! An order and what is done for it on the floor: one command of every kind, in an order that a day could have. The
//! shop is invented.

use super::approved::approved;
use super::held::held;
use super::work_shop::WorkShop;
use anyhow::Result;
use spindlebook_domain::command::Command;
use spindlebook_domain::floor::{
    AbortRun, Count, FinishRun, FinishSetup, LoadPallet, MountFixture, MovePallet, OpenFloor, OpeningPallet,
    PauseRun, ResumeRun, SetQueue, StartRun, UnloadPallet, UnmountFixture,
};
use spindlebook_domain::ids::{HoldId, JobId, LoadId, OrderId, RunId, SetupId};
use spindlebook_domain::inspection::DisposeHold;
use spindlebook_domain::job::{
    AddBlanks, Back, Counts, Moved, ReportInspected, ReportStepBack, ReportStepOut, SplitJob,
};
use spindlebook_domain::load::{Clamped, Disposition};
use spindlebook_domain::order::{
    AddLine, CancelLine, ChangeLine, ChangeOrder, EnterOrder, ExpectMaterial, Material, NewLine, Priority,
    Quoted, ReceiveMaterial, ReleaseOrder, Ship,
};
use spindlebook_domain::pallet::Position;
use spindlebook_domain::run::{AbortReason, PauseReason};
use spindlebook_domain::time::Timestamp;
use uuid::Uuid;

/// All acts happen at `at`, one after the other.
pub fn work(at: Timestamp) -> Result<Vec<Command>> {
    let shop = WorkShop::default();
    let order = OrderId(Uuid::now_v7());
    let jobs = [(); 4].map(|()| JobId(Uuid::now_v7()));
    Ok([
        shop.commands()?,
        entered(&shop, order, at)?,
        lots(order, jobs),
        first_piece(&shop, jobs[0], at),
        judged(order, jobs[0], at),
        aborted(&shop, jobs[1], at),
        held(&shop, line(&shop, 2)?, at)?,
        approved(&shop, jobs[1], at),
        vec![
            cancelled(&shop)?,
            CancelLine {
                order: last_order(),
                line: 1,
            }
            .into(),
        ],
    ]
    .concat())
}

const LAST_ORDER: Uuid = Uuid::from_u128(0x0193_6b5e_5c00_7000_8000_0000_0000_0777);

const fn last_order() -> OrderId {
    OrderId(LAST_ORDER)
}

fn line(shop: &WorkShop, quantity: u32) -> Result<NewLine> {
    Ok(NewLine {
        number: None,
        part: shop.part,
        revision: "A".parse()?,
        quantity,
        due: "2026-12-01".parse()?,
        priority: Priority::Normal,
        material: Material::default(),
        quoted: vec![Quoted {
            operation: 10,
            setup_s: 1_800,
            run_s: 8_640,
        }],
    })
}

fn cancelled(shop: &WorkShop) -> Result<Command> {
    let enter = EnterOrder {
        customer_approval_needed: false,
        order: last_order(),
        code: "2026-0002".parse()?,
        customer: None,
        reference: None,
        lines: vec![line(shop, 5)?],
    };
    Ok(enter.into())
}

fn entered(shop: &WorkShop, order: OrderId, at: Timestamp) -> Result<Vec<Command>> {
    let enter = EnterOrder {
        customer_approval_needed: false,
        order,
        code: "2026-0001".parse()?,
        customer: Some(shop.customer),
        reference: None,
        lines: vec![line(shop, 4)?],
    };
    let change = ChangeOrder {
        customer_approval_needed: false,
        order,
        customer: Some(shop.customer),
        reference: Some("Spare parts".parse()?),
        expected: None,
    };
    let more = AddLine {
        order,
        line: line(shop, 10)?,
    };
    let fewer = ChangeLine {
        order,
        line: 1,
        quantity: 3,
        due: "2026-12-04".parse()?,
        priority: Priority::Rush,
        expected: None,
    };
    let expect = ExpectMaterial {
        order,
        line: 1,
        expected: Some("2026-11-20".parse()?),
    };
    let arrived = |line| -> Result<Command> {
        let certificate = Some("Heat 4711".parse()?);
        Ok(ReceiveMaterial {
            order,
            line,
            at,
            certificate,
        }
        .into())
    };
    Ok(vec![
        enter.into(),
        change.into(),
        more.into(),
        fewer.into(),
        expect.into(),
        arrived(1)?,
        arrived(2)?,
    ])
}

fn lots(order: OrderId, jobs: [JobId; 4]) -> Vec<Command> {
    let release = ReleaseOrder {
        order,
        lines: Vec::new(),
        jobs: vec![jobs[0], jobs[1]],
    };
    let split = SplitJob {
        job: jobs[1],
        into: jobs[2],
        quantity: 4,
        moved: vec![Moved {
            operation: 10,
            pieces: 4,
        }],
    };
    let blanks = AddBlanks {
        job: jobs[2],
        pieces: 1,
        certificate: None,
    };
    vec![release.into(), split.into(), blanks.into()]
}

pub(super) const fn clamped(job: JobId, pieces: u32) -> Clamped {
    Clamped {
        job,
        operation: 10,
        pieces,
        rework: false,
    }
}

pub(super) const fn counted(job: JobId) -> Count {
    Count {
        job,
        operation: 10,
        rework: false,
        good: 0,
        scrapped: 0,
        to_rework: 0,
        to_inspection: 0,
        uncut: 0,
    }
}

/// Mounted, loaded, cut with a stop, held, accepted, counted.
fn first_piece(shop: &WorkShop, job: JobId, at: Timestamp) -> Vec<Command> {
    let (pallet, machine, run, hold) = (
        shop.pallets[0],
        shop.machine,
        RunId(Uuid::now_v7()),
        HoldId(Uuid::now_v7()),
    );
    let station = Position::LoadStation { number: 1 };
    let move_to = |to| MovePallet {
        pallet,
        to,
        exchange: false,
        at,
    };
    let begun = vec![
        opened(shop, at),
        MountFixture {
            pallet,
            setup: SetupId(Uuid::now_v7()),
            fixture: shop.fixture,
            copy: None,
            at,
        }
        .into(),
        FinishSetup { pallet, at }.into(),
        LoadPallet {
            pallet,
            load: LoadId(Uuid::now_v7()),
            clamped: vec![clamped(job, 3)],
            at,
            overrides: Vec::new(),
        }
        .into(),
        SetQueue {
            cell: shop.cell,
            pallets: vec![pallet],
            expected: None,
        }
        .into(),
        move_to(Position::Spindle { machine }).into(),
        StartRun {
            run,
            machine,
            pallet: None,
            purpose: None,
            at,
            overrides: Vec::new(),
        }
        .into(),
    ];
    let counted = vec![
        move_to(station).into(),
        UnloadPallet {
            pallet,
            counts: vec![Count {
                good: 2,
                to_inspection: 1,
                ..counted(job)
            }],
            at,
            note: None,
        }
        .into(),
        UnmountFixture { pallet, at }.into(),
    ];
    [begun, stopped_once(run, hold, at), counted].concat()
}

/// An alarm, and on again; held for its first piece when it ends, and accepted.
fn stopped_once(run: RunId, hold: HoldId, at: Timestamp) -> Vec<Command> {
    vec![
        PauseRun {
            run,
            at,
            reason: PauseReason::Alarm,
        }
        .into(),
        ResumeRun { run, at }.into(),
        FinishRun { run, at, hold }.into(),
        DisposeHold {
            pieces: Vec::new(),
            revision: None,
            reference: None,
            hold,
            disposition: Disposition::Accept,
            at,
            note: None,
        }
        .into(),
    ]
}

fn opened(shop: &WorkShop, at: Timestamp) -> Command {
    let pallet = OpeningPallet {
        pallet: shop.pallets[2],
        position: Position::Stand { number: 3 },
        setup: None,
        load: None,
    };
    OpenFloor {
        pallets: vec![pallet],
        jobs: Vec::new(),
        at,
    }
    .into()
}

/// Inspected, coated outside, shipped: the line is complete. It came back weeks ago, and nobody entered it till now.
fn judged(order: OrderId, job: JobId, at: Timestamp) -> Vec<Command> {
    let weeks_ago = at.plus_s(-40 * 86_400);
    let inspected = ReportInspected {
        job,
        operation: 10,
        counts: Counts {
            good: 1,
            ..Counts::default()
        },
        at,
    };
    let out = ReportStepOut {
        job,
        operation: 20,
        pieces: 3,
        from_rework: false,
        at: weeks_ago,
        due: None,
    };
    let back = ReportStepBack {
        job,
        step: 1,
        back: Back {
            good: 3,
            damaged: 0,
            missing: 0,
        },
        at: weeks_ago,
    };
    let ship = Ship {
        order,
        line: 1,
        job: None,
        pieces: 3,
        at,
    };
    vec![inspected.into(), out.into(), back.into(), ship.into()]
}

/// A run that is broken off: nothing of it is good.
fn aborted(shop: &WorkShop, job: JobId, at: Timestamp) -> Vec<Command> {
    let (pallet, machine, run) = (shop.pallets[0], shop.machine, RunId(Uuid::now_v7()));
    let move_to = |to| MovePallet {
        pallet,
        to,
        exchange: false,
        at,
    };
    vec![
        MountFixture {
            pallet,
            setup: SetupId(Uuid::now_v7()),
            fixture: shop.fixture,
            copy: None,
            at,
        }
        .into(),
        FinishSetup { pallet, at }.into(),
        LoadPallet {
            pallet,
            load: LoadId(Uuid::now_v7()),
            clamped: vec![clamped(job, 2)],
            at,
            overrides: Vec::new(),
        }
        .into(),
        move_to(Position::Spindle { machine }).into(),
        StartRun {
            run,
            machine,
            pallet: None,
            purpose: None,
            at,
            overrides: Vec::new(),
        }
        .into(),
        AbortRun {
            run,
            at,
            reason: AbortReason::Tool,
            note: None,
        }
        .into(),
        move_to(Position::LoadStation { number: 1 }).into(),
        UnloadPallet {
            pallet,
            counts: vec![Count {
                scrapped: 1,
                uncut: 1,
                ..counted(job)
            }],
            at,
            note: None,
        }
        .into(),
    ]
}
