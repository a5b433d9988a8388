//! One command of every kind about orders and jobs. The shop is invented.

use anyhow::Result;
use serde_json::{Value, json};
use spindlebook_domain::command::Command;
use spindlebook_domain::ids::{JobId, OrderId, PartId, VendorId};
use spindlebook_domain::job::{
    AddBlanks, Back, Counts, Moved, ReportInspected, ReportStepBack, ReportStepOut, SplitJob,
};
use spindlebook_domain::order::{
    AddLine, CancelLine, ChangeLine, ChangeOrder, CompleteLine, EnterOrder, ExpectMaterial, Material,
    NewLine, Priority, ReceiveMaterial, ReleaseOrder, Ship,
};
use spindlebook_domain::part::{AddPart, RevisionFacts, SetRouting};
use spindlebook_domain::time::Timestamp;
use spindlebook_domain::vendor::{AddVendor, VendorFacts};
use uuid::Uuid;

/// A part that is sawn in the house and hardened at a vendor's; one order that stays in work and one that is closed.
/// All of it happened at `at`.
pub fn orders(at: Timestamp) -> Result<Vec<Command>> {
    let (part, vendor) = (PartId(Uuid::now_v7()), VendorId(Uuid::now_v7()));
    let (order, first, lot) = (
        OrderId(Uuid::now_v7()),
        JobId(Uuid::now_v7()),
        JobId(Uuid::now_v7()),
    );
    let jobs = vec![first, JobId(Uuid::now_v7()), JobId(Uuid::now_v7())];
    Ok([
        what_is_ordered(part, vendor)?,
        about_an_order(order, part, at, jobs)?,
        about_its_job(first, lot, at)?,
        at_the_end(order, first, at),
        a_short_order(part, at)?,
    ]
    .concat())
}

fn what_is_ordered(part: PartId, vendor: VendorId) -> Result<Vec<Command>> {
    let facts: VendorFacts = serde_json::from_value(
        json!({ "code": "HARDEN", "name": "Hardening shop", "workdays": ["Mon", "Thu"], "closed": [] }),
    )?;
    let revision: RevisionFacts =
        serde_json::from_value(json!({ "revision": "A", "mass_g": null, "size": null, "blank": null }))?;
    let add = AddPart {
        part,
        code: "5100".parse()?,
        name: "Shaft".parse()?,
        revision,
    };
    let routing: Value = json!({ "operations": [
        { "number": 10, "name": "Saw", "work": { "manual": { "lead": { "working_days": { "lead_days": 0 } }, "vendor": null } } },
        { "number": 20, "name": "Harden", "work": { "manual": { "lead": { "working_days": { "lead_days": 3 } }, "vendor": vendor } } }
    ] });
    let set = SetRouting {
        part,
        revision: "A".parse()?,
        routing: serde_json::from_value(routing)?,
        expected: None,
    };
    Ok(vec![AddVendor { vendor, facts }.into(), add.into(), set.into()])
}

fn line(part: PartId, quantity: u32) -> Result<NewLine> {
    Ok(NewLine {
        number: None,
        part,
        revision: "A".parse()?,
        quantity,
        due: "2026-12-18".parse()?,
        priority: Priority::Normal,
        material: Material::default(),
        quoted: serde_json::from_value(json!([{ "operation": 10, "setup_s": 600, "run_s": 1_200 }]))?,
    })
}

fn about_an_order(order: OrderId, part: PartId, at: Timestamp, jobs: Vec<JobId>) -> Result<Vec<Command>> {
    let enter = EnterOrder {
        order,
        code: "SO-1".parse()?,
        customer: None,
        reference: None,
        lines: vec![line(part, 10)?, line(part, 5)?],
    };
    let change = ChangeOrder {
        order,
        customer: None,
        reference: Some("PO 77-120".parse()?),
        expected: None,
    };
    let expect = ExpectMaterial {
        order,
        line: 1,
        expected: Some("2026-11-20".parse()?),
    };
    let receive = ReceiveMaterial {
        order,
        line: 1,
        at,
        certificate: Some("Heat 4482".parse()?),
    };
    let release = ReleaseOrder {
        order,
        lines: Vec::new(),
        jobs,
    };
    let change_line = ChangeLine {
        order,
        line: 1,
        quantity: 12,
        due: "2026-12-11".parse()?,
        priority: Priority::Rush,
        expected: None,
    };
    let add = AddLine {
        order,
        line: line(part, 4)?,
    };
    Ok(vec![
        enter.into(),
        change.into(),
        expect.into(),
        receive.into(),
        add.into(),
        release.into(),
        change_line.into(),
    ])
}

fn about_its_job(job: JobId, lot: JobId, at: Timestamp) -> Result<Vec<Command>> {
    let split = SplitJob {
        job,
        into: lot,
        quantity: 4,
        moved: vec![Moved {
            operation: 10,
            pieces: 4,
        }],
    };
    let blanks = AddBlanks {
        job,
        pieces: 2,
        certificate: Some("Heat 4482".parse()?),
    };
    let inspected = ReportInspected {
        job,
        operation: 10,
        counts: Counts {
            good: 1,
            ..Counts::default()
        },
        at,
    };
    let steps = [
        out(job, 10, 6, at),
        back(job, 1, 5, 1, at),
        inspected.into(),
        out(job, 20, 6, at),
        back(job, 2, 6, 0, at),
    ];
    Ok([vec![split.into(), blanks.into()], steps.to_vec()].concat())
}

fn out(job: JobId, operation: u16, pieces: u32, at: Timestamp) -> Command {
    ReportStepOut {
        job,
        operation,
        pieces,
        from_rework: false,
        at,
        due: None,
    }
    .into()
}

fn back(job: JobId, step: u32, good: u32, damaged: u32, at: Timestamp) -> Command {
    let back = Back {
        good,
        damaged,
        missing: 0,
    };
    ReportStepBack { job, step, back, at }.into()
}

fn at_the_end(order: OrderId, job: JobId, at: Timestamp) -> Vec<Command> {
    let ship = Ship {
        order,
        line: 1,
        job: Some(job),
        pieces: 3,
        at,
    };
    vec![ship.into(), CancelLine { order, line: 2 }.into()]
}

/// Shipped short, then changed to what was shipped.
fn a_short_order(part: PartId, at: Timestamp) -> Result<Vec<Command>> {
    let (order, job) = (OrderId(Uuid::now_v7()), JobId(Uuid::now_v7()));
    let mut here = line(part, 2)?;
    here.material.arrived = Some(serde_json::from_value(json!({ "at": at, "certificate": null }))?);
    let enter = EnterOrder {
        order,
        code: "SO-2".parse()?,
        customer: None,
        reference: None,
        lines: vec![here],
    };
    let release = ReleaseOrder {
        order,
        lines: Vec::new(),
        jobs: vec![job],
    };
    // One more is out while the last one is shipped, so that the line is called complete by hand.
    let more = AddBlanks {
        job,
        pieces: 1,
        certificate: None,
    };
    let ship = Ship {
        order,
        line: 1,
        job: None,
        pieces: 2,
        at,
    };
    Ok(vec![
        enter.into(),
        release.into(),
        more.into(),
        out(job, 10, 3, at),
        back(job, 1, 2, 0, at),
        out(job, 20, 2, at),
        back(job, 2, 2, 0, at),
        ship.into(),
        back(job, 1, 1, 0, at),
        CompleteLine { order, line: 1 }.into(),
    ])
}
