//! Pieces that are not as drawn: used as they are once the customer has agreed, and that taken back.

use super::work::{clamped, counted};
use super::work_shop::WorkShop;
use anyhow::Result;
use spindlebook_domain::command::Command;
use spindlebook_domain::floor::{Count, FinishRun, LoadPallet, MovePallet, StartRun, UnloadPallet};
use spindlebook_domain::ids::{HoldId, JobId, LoadId, OrderId, RunId, TextId};
use spindlebook_domain::inspection::{
    DisposeHold, GiveReference, InspectionRule, NightPolicy, Occasion, ReverseInspection,
    SetCustomerInspection,
};
use spindlebook_domain::load::Disposition;
use spindlebook_domain::note::NoteRef;
use spindlebook_domain::order::{Arrived, EnterOrder, Material, NewLine, ReleaseOrder};
use spindlebook_domain::pallet::Position;
use spindlebook_domain::time::Timestamp;
use uuid::Uuid;

/// On the setup that is there, of a part that was finished more than a month ago.
pub fn held(shop: &WorkShop, line: NewLine, at: Timestamp) -> Result<Vec<Command>> {
    let (order, job) = (OrderId(Uuid::now_v7()), JobId(Uuid::now_v7()));
    let (hold, run) = (HoldId(Uuid::now_v7()), RunId(Uuid::now_v7()));
    let (pallet, machine) = (shop.pallets[0], shop.machine);
    let rule = InspectionRule {
        part: Some(shop.part),
        first_piece: vec![Occasion::NewSetup],
        first_article_after_months: Some(1),
        in_process_every: Some(500),
        night: Some(NightPolicy::Supervisor),
        ..InspectionRule::default()
    };
    let rules = SetCustomerInspection {
        customer: shop.customer,
        rules: vec![rule],
        expected: None,
    };
    let enter = EnterOrder {
        order,
        code: "2026-0003".parse()?,
        customer: Some(shop.customer),
        reference: None,
        customer_approval_needed: true,
        lines: vec![NewLine {
            material: Material {
                expected: None,
                arrived: Some(Arrived {
                    at,
                    certificate: None,
                }),
            },
            ..line
        }],
    };
    let release = ReleaseOrder {
        order,
        lines: Vec::new(),
        jobs: vec![job],
    };
    let move_to = |to| MovePallet {
        pallet,
        to,
        exchange: false,
        at,
    };
    let load = LoadPallet {
        pallet,
        load: LoadId(Uuid::now_v7()),
        clamped: vec![clamped(job, 2)],
        at,
        overrides: Vec::new(),
    };
    let start = StartRun {
        run,
        machine,
        pallet: None,
        purpose: None,
        at,
        overrides: Vec::new(),
    };
    let entered = vec![rules.into(), enter.into(), release.into(), load.into()];
    let cut = vec![
        move_to(Position::Spindle { machine }).into(),
        start.into(),
        FinishRun { run, at, hold }.into(),
        move_to(Position::LoadStation { number: 1 }).into(),
    ];
    Ok([entered, cut, decided(shop, job, hold, at)].concat())
}

fn decided(shop: &WorkShop, job: JobId, hold: HoldId, at: Timestamp) -> Vec<Command> {
    let use_as_is = DisposeHold {
        hold,
        disposition: Disposition::UseAsIs,
        pieces: Vec::new(),
        revision: None,
        reference: None,
        at,
        note: Some(text("Bore 12.03")),
    };
    let aside = UnloadPallet {
        pallet: shop.pallets[0],
        counts: vec![Count {
            to_inspection: 2,
            ..counted(job)
        }],
        at,
        note: None,
    };
    let agreed = GiveReference {
        hold,
        reference: text("Mail of the customer"),
        at,
    };
    let reverse = ReverseInspection {
        job,
        entry: None,
        note: Some(text("Wrong tray")),
        at,
    };
    vec![use_as_is.into(), aside.into(), agreed.into(), reverse.into()]
}

fn text(body: &str) -> NoteRef {
    NoteRef::new(TextId(Uuid::now_v7()), &[5; 16], body)
}
