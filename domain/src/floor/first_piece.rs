//! First pieces: which load needs an inspector's look after its run, and which ones wait until that is over.

use super::pieces::open_job;
use super::work::{machining, place};
use crate::code::Code;
use crate::ids::{JobId, LoadId, MachineId, SetupId};
use crate::inspection::{ApprovalGiven, Decided, InspectionRule, Occasion, rule_of, shift_start};
use crate::load::{Approved, Clamped, HoldKind, Load, Stage};
use crate::pallet::{Pallet, Setup};
use crate::run::Run;
use crate::shop::Shop;
use crate::time::Timestamp;
use std::collections::BTreeSet;

/// Where and when a load is cut: what an approval is compared with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Passage {
    pub setup: SetupId,
    pub machine: MachineId,
    /// When its run began.
    pub at: Timestamp,
}

impl Passage {
    pub const fn of(run: &Run) -> Self {
        Self {
            setup: run.setup,
            machine: run.machine,
            at: run.started_at,
        }
    }
}

/// What an operation still asks for before more of it is cut from this setup on this machine.
pub fn wanted(shop: &Shop, job: JobId, operation: u16, passage: Passage) -> Option<HoldKind> {
    let machining = machining(shop, job, operation)?;
    let is_due = shop
        .jobs
        .get(&job)
        .is_some_and(|job| job.first_article_due.is_some());
    if (machining.first_article || is_due) && !has_article(shop, job, operation) {
        return Some(HoldKind::FirstArticle);
    }
    let rule = rule_of(shop, job, operation);
    let is_wanted = rule.wants_first_piece(machining) && !is_approved(shop, job, operation, &rule, passage);
    is_wanted.then_some(HoldKind::FirstPiece)
}

/// The strictest of what the operations of a load ask for.
pub fn wanted_of_load(shop: &Shop, clamped: &[Clamped], passage: Passage) -> Option<HoldKind> {
    let kinds = clamped
        .iter()
        .filter_map(|one| wanted(shop, one.job, one.operation, passage));
    kinds.max()
}

/// What is approved when somebody accepts these pieces. Of a job that is closed nothing more is cut.
pub fn approvals(shop: &Shop, accepted: &[Decided], passage: Passage) -> Vec<ApprovalGiven> {
    let mut approvals = Vec::<ApprovalGiven>::new();
    for one in accepted {
        let is_wanted = wanted(shop, one.job, one.operation, passage).is_some();
        let Some(job) = open_job(shop, one.job).filter(|_| is_wanted) else {
            continue;
        };
        let asks = machining(shop, one.job, one.operation).is_some_and(|machining| machining.first_article);
        let approval = ApprovalGiven {
            job: job.id,
            part: job.part,
            operation: one.operation,
            revision: job.revision.clone(),
            setup: passage.setup,
            machine: passage.machine,
            nests: one.nests.clone(),
            first_article: (asks || job.first_article_due.is_some())
                && !has_article(shop, one.job, one.operation)
                && is_whole(shop, one, passage),
            cut_at: passage.at,
        };
        let is_same = |other: &&ApprovalGiven| (other.job, other.operation) == (one.job, one.operation);
        if approvals.iter().find(is_same).is_none() {
            approvals.push(approval);
        }
    }
    approvals
}

/// With these pieces each nest that has to be is approved.
fn is_whole(shop: &Shop, accepted: &Decided, passage: Passage) -> bool {
    let rule = rule_of(shop, accepted.job, accepted.operation);
    let before = good_approvals(shop, accepted.job, accepted.operation, &rule, passage);
    let named = before.iter().flat_map(|one| &one.nests).chain(&accepted.nests);
    !rule.every_nest || covers(nests_of(shop, passage.setup), named)
}

fn has_article(shop: &Shop, job: JobId, operation: u16) -> bool {
    let mut all = shop.approvals.get(&job).into_iter().flatten();
    all.any(|one| one.operation == operation && one.first_article)
}

fn is_approved(shop: &Shop, job: JobId, operation: u16, rule: &InspectionRule, passage: Passage) -> bool {
    let good = good_approvals(shop, job, operation, rule, passage);
    if rule.every_nest {
        covers(
            nests_of(shop, passage.setup),
            good.iter().flat_map(|one| &one.nests),
        )
    } else {
        !good.is_empty()
    }
}

/// The approvals that hold for this operation, revision, setup and machine, and that nothing has ended since.
fn good_approvals<'a>(
    shop: &'a Shop,
    job: JobId,
    operation: u16,
    rule: &InspectionRule,
    passage: Passage,
) -> Vec<&'a Approved> {
    let Some(own) = shop.jobs.get(&job) else {
        return Vec::new();
    };
    let of_job = shop.approvals.get(&job).into_iter().flatten();
    let of_setup = shop.setup_approvals.get(&passage.setup).into_iter().flatten();
    let of_setup = of_setup.filter(|one| one.job != job && !rule.is_renewed_by(Occasion::NewJobOperation));
    let cell = shop.machines.get(&passage.machine).map(|machine| machine.cell);
    let same_shift = |one: &Approved| {
        cell.is_none_or(|cell| shift_start(shop, cell, one.cut_at) == shift_start(shop, cell, passage.at))
    };
    let is_good = |one: &&Approved| {
        (one.part, one.operation) == (own.part, operation)
            && (one.setup, one.machine) == (passage.setup, passage.machine)
            && one.revision.is_spoken_like(&own.revision)
            && (!rule.is_renewed_by(Occasion::PerShift) || same_shift(one))
            && (!rule.is_renewed_by(Occasion::ToolChange) || !is_retooled(shop, job, operation, one, passage))
    };
    of_job.chain(of_setup).filter(is_good).collect()
}

/// Whether a tool of the operation was replaced in the machine since the approved piece was cut.
fn is_retooled(shop: &Shop, job: JobId, operation: u16, approved: &Approved, passage: Passage) -> bool {
    let Some(machine) = shop.machines.get(&passage.machine) else {
        return false;
    };
    let place = place(shop, job, operation, machine.cell);
    let tools = place.map_or(&[][..], |place| &place.tools);
    let replaced = machine.replaced.iter();
    let mut since = replaced.filter(|one| one.at > approved.cut_at && one.at <= passage.at);
    let uses = |tool: &Code| tools.iter().any(|used| used.tool.is_spoken_like(tool));
    since.any(|one| uses(&one.tool))
}

fn setup(shop: &Shop, id: SetupId) -> Option<&Setup> {
    let mut setups = shop.pallets.values().filter_map(|pallet| pallet.setup.as_ref());
    setups.find(|setup| setup.id == id)
}

fn nests_of(shop: &Shop, id: SetupId) -> Option<u32> {
    let fixture = shop.fixtures.get(&setup(shop, id)?.fixture)?;
    Some(fixture.facts.nests)
}

/// Without a setup nobody knows how many nests there were.
fn covers<'a>(nests: Option<u32>, named: impl Iterator<Item = &'a u32>) -> bool {
    let named: BTreeSet<_> = named.collect();
    nests.is_some_and(|nests| (1..=nests).all(|nest| named.contains(&nest)))
}

/// How far a setup is approved where each nest is to be: those that are, and how many there are.
pub fn nests_approved(
    shop: &Shop,
    job: JobId,
    operation: u16,
    passage: Passage,
) -> Option<(BTreeSet<u32>, u32)> {
    let rule = rule_of(shop, job, operation);
    let nests = nests_of(shop, passage.setup).filter(|_| rule.every_nest)?;
    let good = good_approvals(shop, job, operation, &rule, passage);
    let named = good.iter().flat_map(|one| one.nests.iter().copied());
    Some((named.collect(), nests))
}

/// The revision that this setup is approved for on the machine, where it is another than the job's.
pub fn approved_for_other(shop: &Shop, job: JobId, operation: u16, passage: Passage) -> Option<Code> {
    let own = shop.jobs.get(&job)?;
    let of_jobs = shop.approvals.values().flatten();
    let of_setup = shop.setup_approvals.get(&passage.setup).into_iter().flatten();
    let others = of_jobs.chain(of_setup).filter(|one| {
        (one.part, one.operation, one.machine) == (own.part, operation, passage.machine)
            && !one.revision.is_spoken_like(&own.revision)
    });
    others.max_by_key(|one| one.seq).map(|one| one.revision.clone())
}

/// A first piece that is being cut or waits to be looked at.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OpenFirstPiece {
    pub job: JobId,
    pub operation: u16,
    pub kind: HoldKind,
    pub pallet: Code,
    pub since: Timestamp,
    /// This setup is approved on the machine, but for another revision.
    pub approved_revision: Option<Code>,
}

impl OpenFirstPiece {
    /// The end of a sentence; empty where nothing of the kind is approved.
    pub fn for_other_revision(&self) -> String {
        let revision = self.approved_revision.as_ref();
        revision.map_or_else(String::new, |revision| {
            format!("; the approval that there is is for revision {revision}")
        })
    }
}

/// What this load has to wait for, wherever it stands. A first article stops all of its operation; a first piece does
/// not stop a setup that has been approved on the machine.
pub fn open_for(shop: &Shop, load: &Load, passage: Passage) -> Option<OpenFirstPiece> {
    load.clamped.iter().find_map(|one| {
        let mut open = open_of(shop, one, load.id)?;
        let own = wanted(shop, one.job, one.operation, passage);
        open.approved_revision = approved_for_other(shop, one.job, one.operation, passage);
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
        let is_first = matches!(hold.kind, HoldKind::FirstPiece | HoldKind::FirstArticle);
        let counts = is_gone && is_first && hold.load != except;
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
        approved_revision: None,
    })
}

fn is_open(shop: &Shop, pallet: &Pallet, load: &Load, other: &Clamped) -> Option<(HoldKind, Timestamp)> {
    pallet.setup.as_ref()?;
    if !matches!(load.stage, Stage::InRun { .. } | Stage::Cut { .. }) {
        return None;
    }
    let run = shop.runs.get(&load.run()?)?;
    let kind = wanted(shop, other.job, other.operation, Passage::of(run))?;
    let held_since = load
        .hold
        .and_then(|hold| shop.holds.get(&hold))
        .map(|hold| hold.since);
    Some((kind, held_since.unwrap_or(run.started_at)))
}
