//! First pieces: which load needs an inspector's look after its run, and which ones wait until that is over.

use super::pieces::open_job;
use super::work::machining;
use crate::code::Code;
use crate::ids::{JobId, LoadId, MachineId, SetupId};
use crate::load::{Approval, Clamped, HoldKind, Load, Stage};
use crate::pallet::Pallet;
use crate::shop::Shop;
use crate::time::Timestamp;

/// What an operation still asks for before more of it is cut from this setup on this machine.
pub fn wanted(shop: &Shop, one: &Clamped, setup: SetupId, machine: MachineId) -> Option<HoldKind> {
    let machining = machining(shop, one.job, one.operation)?;
    if machining.first_article && !has_article(shop, one.job, one.operation) {
        return Some(HoldKind::FirstArticle);
    }
    let is_wanted = machining.first_piece && !is_approved(shop, one, setup, machine);
    is_wanted.then_some(HoldKind::FirstPiece)
}

/// The strictest of what the operations of a load ask for.
pub fn wanted_of_load(
    shop: &Shop,
    clamped: &[Clamped],
    setup: SetupId,
    machine: MachineId,
) -> Option<HoldKind> {
    let kinds = clamped.iter().filter_map(|one| wanted(shop, one, setup, machine));
    kinds.max()
}

/// What is approved when somebody accepts this load. Of a job that is closed nothing more is cut.
pub fn approvals(shop: &Shop, clamped: &[Clamped], setup: SetupId, machine: MachineId) -> Vec<Approval> {
    let mut approvals = Vec::new();
    for one in clamped.iter().filter(|one| open_job(shop, one.job).is_some()) {
        let approval = Approval {
            job: one.job,
            operation: one.operation,
            setup,
            machine,
            first_article: machining(shop, one.job, one.operation)
                .is_some_and(|machining| machining.first_article)
                && !has_article(shop, one.job, one.operation),
        };
        if wanted(shop, one, setup, machine).is_some() && !approvals.contains(&approval) {
            approvals.push(approval);
        }
    }
    approvals
}

fn has_article(shop: &Shop, job: JobId, operation: u16) -> bool {
    let approvals = shop.approvals.get(&job);
    approvals.is_some_and(|all| {
        all.iter()
            .any(|one| one.operation == operation && one.first_article)
    })
}

fn is_approved(shop: &Shop, one: &Clamped, setup: SetupId, machine: MachineId) -> bool {
    let approvals = shop.approvals.get(&one.job);
    approvals.is_some_and(|all| {
        all.iter().any(|approval| {
            (approval.operation, approval.setup, approval.machine) == (one.operation, setup, machine)
        })
    })
}

/// A first piece that is being cut or waits to be looked at.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OpenFirstPiece {
    pub job: JobId,
    pub operation: u16,
    pub kind: HoldKind,
    pub pallet: Code,
    pub since: Timestamp,
}

/// What this load has to wait for, wherever it stands. A first article stops all of its operation; a first piece does
/// not stop a setup that has been approved on the machine.
pub fn open_for(shop: &Shop, load: &Load, setup: SetupId, machine: MachineId) -> Option<OpenFirstPiece> {
    load.clamped.iter().find_map(|one| {
        let open = open_of(shop, one, load.id)?;
        let own = wanted(shop, one, setup, machine);
        (open.kind == HoldKind::FirstArticle || own.is_some()).then_some(open)
    })
}

fn open_of(shop: &Shop, one: &Clamped, except: LoadId) -> Option<OpenFirstPiece> {
    let concerns = |clamped: &[Clamped]| {
        let same = |other: &&Clamped| (other.job, other.operation) == (one.job, one.operation);
        clamped.iter().find(same).copied()
    };
    let on_pallets = shop.pallets.values().filter_map(|pallet| {
        let load = pallet.load.as_ref().filter(|load| load.id != except)?;
        let other = concerns(&load.clamped)?;
        let (kind, since) = is_open(shop, pallet, load, &other)?;
        Some((kind, pallet.facts.code.clone(), since))
    });
    let taken_off = shop.holds.values().filter_map(|hold| {
        concerns(&hold.clamped)?;
        let pallet = shop.pallets.get(&hold.pallet)?;
        let is_gone = pallet.load.as_ref().is_none_or(|load| load.id != hold.load);
        let counts = is_gone && hold.kind != HoldKind::Suspect && hold.load != except;
        counts.then(|| (hold.kind, pallet.facts.code.clone(), hold.since))
    });
    // The oldest one, so that everybody is told the same.
    let (kind, pallet, since) = on_pallets
        .chain(taken_off)
        .max_by_key(|(kind, _, since)| (*kind == HoldKind::FirstArticle, std::cmp::Reverse(*since)))?;
    Some(OpenFirstPiece {
        job: one.job,
        operation: one.operation,
        kind,
        pallet,
        since,
    })
}

fn is_open(shop: &Shop, pallet: &Pallet, load: &Load, other: &Clamped) -> Option<(HoldKind, Timestamp)> {
    let setup = pallet.setup.as_ref()?;
    if !matches!(load.stage, Stage::InRun { .. } | Stage::Cut { .. }) {
        return None;
    }
    let run = shop.runs.get(&load.run()?)?;
    let kind = wanted(shop, other, setup.id, run.machine)?;
    let held_since = load
        .hold
        .and_then(|hold| shop.holds.get(&hold))
        .map(|hold| hold.since);
    Some((kind, held_since.unwrap_or(run.started_at)))
}
